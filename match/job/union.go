package job

import (
	"context"
	"runtime"

	"toneplumb/spectrum/measure/profile"
	"toneplumb/spectrum/parallel"
)

// Union reads recordings and profiles to be joined to one profile, side by side. Of what is
// in profiles no table is kept, so that a library of thousands takes no more memory than a
// few. Errors are those of [Reader.ReadAll].
func (r Reader) Union(ctx context.Context, paths ...string) (*profile.Union, error) {
	if err := allThere(ctx, paths); err != nil {
		return nil, err
	}
	var all profile.Union
	var sounds, profiles []string
	for _, path := range paths {
		if looksLikeProfile(path) {
			profiles = append(profiles, path)
		} else {
			sounds = append(sounds, path)
		}
	}
	err := parallel.Each(ctx, runtime.GOMAXPROCS(0), len(profiles), func(_ context.Context, i int) error {
		file, err := OpenText(profiles[i])
		if err != nil {
			return err
		}
		defer file.Close()
		return all.AddFile(file, profiles[i])
	})
	if err != nil {
		return nil, err
	}
	inputs, err := r.ReadAll(ctx, sounds...)
	if err != nil {
		return nil, err
	}
	for _, in := range inputs {
		if in.Entries[0].SHA256, err = in.SHA256(ctx); err != nil {
			return nil, err
		}
		if err := all.Add(in.Entries); err != nil {
			return nil, Fail("leave that recording out", "%s", err)
		}
	}
	return &all, nil
}
