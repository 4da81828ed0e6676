// Package parallel works on numbered tasks side by side.
//
// It imports nothing of toneplumb.
package parallel

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
)

// Each calls f for every i from 0 to n−1, at most limit of them at once, in order, and waits for all. The first error
// ends the context of the others and keeps those that have not begun from beginning. Each returns [FirstError] of them, or
// ctx's error if that kept any from beginning. It panics if limit is below 1.
func Each(ctx context.Context, limit, n int, f func(ctx context.Context, i int) error) error {
	if limit < 1 {
		panic("parallel: a limit below 1")
	}
	inner, cancel := context.WithCancel(ctx)
	defer cancel()
	errs := make([]error, n)
	var begun atomic.Int64
	var wait sync.WaitGroup
	for range min(limit, n) {
		wait.Go(func() {
			for i := int(begun.Add(1)) - 1; i < n; i = int(begun.Add(1)) - 1 {
				if errs[i] = inner.Err(); errs[i] == nil {
					errs[i] = f(inner, i)
				}
				if errs[i] != nil {
					cancel()
				}
			}
		})
	}
	wait.Wait()
	return FirstError(errs)
}

// FirstError returns the first error that is not [context.Canceled], which is how the others end when one has failed; else
// any that is, else nil.
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
