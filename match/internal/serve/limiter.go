package serve

import "context"

// limiter lets only so much be done at once; who comes later waits for a place.
type limiter chan struct{}

// do does work when there is a place, unless the context is done before.
func (l limiter) do(ctx context.Context, work func() error) error {
	select {
	case l <- struct{}{}:
		defer func() { <-l }()
	case <-ctx.Done():
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return work()
}
