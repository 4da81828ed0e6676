package serve

import "context"

// limiter limits how much work runs at once; its capacity is the number of places.
type limiter chan struct{}

// do waits for a place and runs work. If the context ends first, it returns its error.
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
