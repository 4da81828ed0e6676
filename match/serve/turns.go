package serve

import "context"

// turns let only so much be done at once; who comes later waits for a place.
type turns chan struct{}

// take does work when there is a place, unless the context is done before.
func (t turns) take(ctx context.Context, work func() error) error {
	select {
	case t <- struct{}{}:
		defer func() { <-t }()
	case <-ctx.Done():
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return work()
}
