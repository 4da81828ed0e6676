package parallel

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync/atomic"
	"testing"
)

// Every task runs once, and at most limit at a time.
func TestEach(t *testing.T) {
	for _, limit := range []int{1, 3, 100} {
		const n = 50
		var done [n]atomic.Int32
		var now, most atomic.Int32
		err := Each(t.Context(), limit, n, func(_ context.Context, i int) error {
			at := now.Add(1)
			for before := most.Load(); at > before && !most.CompareAndSwap(before, at); before = most.Load() {
			}
			done[i].Add(1)
			now.Add(-1)
			return nil
		})
		if err != nil || int(most.Load()) > limit {
			t.Errorf("limit %d: %v, %d at once", limit, err, most.Load())
		}
		for i := range done {
			if done[i].Load() != 1 {
				t.Errorf("limit %d: task %d was done %d times", limit, i, done[i].Load())
			}
		}
	}
}

// A failure cancels the running calls, prevents the rest from starting, and is returned.
func TestEachFails(t *testing.T) {
	gone := errors.New("gone")
	var begun []int
	err := Each(t.Context(), 1, 9, func(_ context.Context, i int) error {
		begun = append(begun, i)
		if i == 2 {
			return gone
		}
		return nil
	})
	if err != gone || !slices.Equal(begun, []int{0, 1, 2}) {
		t.Errorf("%v after %v", err, begun)
	}
	running := make(chan struct{})
	err = Each(t.Context(), 2, 2, func(ctx context.Context, i int) error {
		if i == 0 { // waits to be ended
			close(running)
			<-ctx.Done()
			return ctx.Err()
		}
		<-running
		return gone
	})
	if err != gone {
		t.Errorf("the failure behind an ended task: %v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := Each(ctx, 2, 5, func(context.Context, int) error { t.Error("begun"); return nil }); !errors.Is(err, context.Canceled) {
		t.Errorf("of an ended context: %v", err)
	}
	if err := Each(ctx, 2, 0, nil); err != nil {
		t.Errorf("of no tasks: %v", err)
	}
}

// The error that caused the others to be cancelled is returned, not their cancellation.
func TestFirstError(t *testing.T) {
	gone, cancelled := errors.New("gone"), fmt.Errorf("opening: %w", context.Canceled)
	for _, c := range []struct {
		name string
		errs []error
		want error
	}{
		{"none", []error{nil, nil}, nil},
		{"cancelled before the failure", []error{nil, cancelled, gone}, gone},
		{"cancelled after the failure", []error{gone, context.Canceled}, gone},
		{"cancelled only", []error{nil, cancelled}, cancelled},
	} {
		if err := FirstError(c.errs); err != c.want {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
}
