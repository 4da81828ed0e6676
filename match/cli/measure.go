package cli

import (
	"context"
	"errors"
	"io"
	"os"
	"runtime"
	"sync"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// opener opens a recording: audio.Open, or a keeper's.
type opener func(context.Context, string) (audio.Source, error)

// measureAll measures files side by side, as many at once as there are
// processors, and returns the tables in the order of the paths. A name that is wrong
// is told at once; the first error ends the others. Progress goes to stderr where
// that is a terminal.
func measureAll(ctx context.Context, paths []string, stderr io.Writer) ([]*measure.Recording, error) {
	return measureThrough(ctx, audio.Open, paths, stderr)
}

// measureThrough is measureAll with an opener.
func measureThrough(ctx context.Context, open opener, paths []string, stderr io.Writer) ([]*measure.Recording, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	for _, path := range paths {
		if _, err := os.Stat(path); err != nil {
			if src, err := audio.Open(ctx, path); err != nil { // it has the words
				return nil, err
			} else {
				src.Close()
			}
		}
	}
	shown := newProgress(stderr)
	defer shown.end()
	recordings := make([]*measure.Recording, len(paths))
	errs := make([]error, len(paths))
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	var wait sync.WaitGroup
	for i, path := range paths {
		wait.Go(func() {
			free <- struct{}{}
			defer func() { <-free }()
			if recordings[i], errs[i] = measureOne(ctx, open, path, shown); errs[i] != nil {
				cancel()
			}
		})
	}
	wait.Wait()
	return recordings, firstOf(errs)
}

func measureOne(ctx context.Context, open opener, path string, shown *progress) (*measure.Recording, error) {
	src, err := open(ctx, path)
	if err != nil {
		return nil, err
	}
	followed := shown.watch(src, path)
	defer followed.Close()
	return measure.Measure(ctx, followed, path)
}

// firstOf returns the first error that is not only the end of the others.
func firstOf(errs []error) error {
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

// interruptible runs work that takes no context, and returns when it is done or the
// context is; in that case the work goes on unseen until the program ends.
func interruptible[T any](ctx context.Context, work func() (T, error)) (T, error) {
	type outcome struct {
		value T
		err   error
	}
	done := make(chan outcome, 1)
	go func() {
		value, err := work()
		done <- outcome{value, err}
	}()
	select {
	case <-ctx.Done():
		var none T
		return none, ctx.Err()
	case o := <-done:
		return o.value, o.err
	}
}
