// Package parallel runs numbered tasks at the same time, with a limit.
//
// It imports nothing of toneplumb.
package parallel

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
)

// Each calls f for every i from 0 to n−1, starting them in order with at most limit running
// at the same time, and waits for them. The first error cancels the context of the others,
// and calls that have not started are skipped. Each returns the [FirstError] of all calls,
// or ctx's error if that made it skip any. It panics if limit is below 1, or if a call has
// panicked, once all have ended.
func Each(ctx context.Context, limit, n int, f func(ctx context.Context, i int) error) error {
	if limit < 1 {
		panic("parallel: a limit below 1")
	}
	inner, cancel := context.WithCancel(ctx)
	defer cancel()
	errs, panics := make([]error, n), make([]*Panic, n)
	var begun atomic.Int64
	var wait sync.WaitGroup
	for range min(limit, n) {
		wait.Go(func() {
			for i := int(begun.Add(1)) - 1; i < n; i = int(begun.Add(1)) - 1 {
				if errs[i] = inner.Err(); errs[i] == nil {
					panics[i] = Caught(func() { errs[i] = f(inner, i) })
				}
				if errs[i] != nil || panics[i] != nil {
					cancel()
				}
			}
		})
	}
	wait.Wait()
	for _, p := range panics {
		p.Again()
	}
	return FirstError(errs)
}

// FirstError returns the first error that is not [context.Canceled]: calls that were
// cancelled because another one failed return that. Without any other error it returns a
// cancellation, and nil if all errors are nil.
func FirstError(errs []error) error {
	var ended error
	for _, err := range errs {
		switch {
		case err == nil:
		case errors.Is(err, context.Canceled):
			ended = err
		default:
			return err
		}
	}
	return ended
}
