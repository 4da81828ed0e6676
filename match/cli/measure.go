package cli

import (
	"context"
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
	if err := unopenable(ctx, paths); err != nil {
		return nil, err
	}
	recordings, errs := measureEach(ctx, open, paths, stderr, cancel)
	return recordings, measure.FirstError(errs)
}

// unopenable returns the error of the first name that is wrong.
func unopenable(ctx context.Context, paths []string) error {
	for _, path := range paths {
		if _, err := os.Stat(path); err != nil {
			src, err := audio.Open(ctx, path) // it has the words
			if err != nil {
				return err
			}
			src.Close()
		}
	}
	return nil
}

// measureEach measures files side by side; an error stands in the place of its path, and
// failed is called with each.
func measureEach(ctx context.Context, open opener, paths []string, stderr io.Writer, failed func()) ([]*measure.Recording, []error) {
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
				failed()
			}
		})
	}
	wait.Wait()
	return recordings, errs
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

// unread tells each error of many files, those of the rest being done, and returns that of
// the command; of one file it returns the error itself.
func unread(stderr io.Writer, errs []error) error {
	n := 0
	for _, err := range errs {
		if err != nil {
			n++
		}
	}
	if n == 0 || len(errs) == 1 {
		return measure.FirstError(errs)
	}
	for _, err := range errs {
		if err != nil {
			printError(stderr, err)
		}
	}
	if n == len(errs) {
		return fail("each of them says why", "none of %d could be read", n)
	}
	return fail("the others are done", "%d of %d could not be read", n, len(errs))
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
