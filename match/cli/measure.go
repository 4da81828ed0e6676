package cli

import (
	"context"
	"runtime"
	"sync"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// measureAll measures files side by side, as many at once as there are
// processors, and returns the tables in the order of the paths. Of several errors
// it returns that of the first file.
func measureAll(ctx context.Context, paths []string) ([]*measure.Recording, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	recordings := make([]*measure.Recording, len(paths))
	errs := make([]error, len(paths))
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	var wait sync.WaitGroup
	for i, path := range paths {
		wait.Go(func() {
			free <- struct{}{}
			defer func() { <-free }()
			recordings[i], errs[i] = measureFile(ctx, path)
		})
	}
	wait.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return recordings, nil
}

func measureFile(ctx context.Context, path string) (*measure.Recording, error) {
	src, err := audio.Open(ctx, path)
	if err != nil {
		return nil, err
	}
	defer src.Close()
	return measure.Measure(ctx, src, path)
}
