// Package job carries out the requests of the front ends: it opens and measures recordings,
// applies the user's options, compares, and returns one typed outcome. The command line,
// watching, and the local page translate their input to a request and the outcome to their
// output; none of them combines the steps itself.
//
// A [Reader] opens and measures several files at the same time. [Options] holds every option
// of a comparison, so that each is available wherever it makes sense. [Compare] applies them
// in order: display names, removal of an earlier round's moves, parts, comparison.
package job

import (
	"context"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"runtime"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/profile"
	"toneplumb/spectrum/parallel"
)

// Opener opens a recording: [audio.Open], or a function that serves cached sound.
type Opener = func(context.Context, string) (audio.Source, error)

// Reader opens and measures recordings. The zero value is ready to use.
type Reader struct {
	Open  Opener                                           // nil means audio.Open
	Watch func(src audio.Source, path string) audio.Source // wraps each source, to report progress; may be nil
	Known map[string]Input                                 // inputs that were read already, by path
}

// open opens a recording that will be read to its end.
func (r Reader) open(ctx context.Context, path string) (audio.Source, error) {
	open := r.Open
	if open == nil {
		open = audio.Open
	}
	src, err := open(ctx, path)
	if err != nil || r.Watch == nil {
		return src, err
	}
	return r.Watch(src, path), nil
}

// Measure measures one recording. The error is an [*audio.Error] or ctx's.
func (r Reader) Measure(ctx context.Context, path string) (*measure.Recording, error) {
	src, err := r.open(ctx, path)
	if err != nil {
		return nil, err
	}
	defer src.Close()
	return measure.Measure(ctx, src, path)
}

// Input is the content of one file: a recording, or the recordings of a profile.
type Input struct {
	Path      string
	IsProfile bool
	Entries   profile.Profile // for a recording one entry, without SHA256
}

// Read reads a profile or measures a recording. The error is an [*audio.Error] or ctx's.
func (r Reader) Read(ctx context.Context, path string) (Input, error) {
	return r.ReadAs(ctx, path, path)
}

// ReadAs is [Reader.Read] for a file that is known by another path.
func (r Reader) ReadAs(ctx context.Context, path, known string) (Input, error) {
	if in, is := r.Known[path]; is {
		return in, nil
	}
	in := Input{Path: path, IsProfile: looksLikeProfile(path)}
	if in.IsProfile {
		if err := ctx.Err(); err != nil {
			return in, err
		}
		file, err := OpenText(path)
		if err != nil {
			return in, err
		}
		defer file.Close()
		in.Entries, err = profile.Read(file, known)
		return in, err
	}
	src, err := r.open(ctx, path)
	if err != nil {
		return in, err
	}
	defer src.Close()
	recording, err := measure.Measure(ctx, src, known)
	if err == nil {
		in.Entries = profile.Profile{{Recording: recording}}
	}
	return in, err
}

// ReadAll reads files, several at the same time, and returns their content in the order of
// the paths. Paths that do not exist are reported before anything is read. The first error
// cancels the rest and is returned.
func (r Reader) ReadAll(ctx context.Context, paths ...string) ([]Input, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	if err := allThere(ctx, paths); err != nil {
		return nil, err
	}
	inputs, errs := r.readEach(ctx, paths, cancel)
	return inputs, parallel.FirstError(errs)
}

// allThere returns the error of the first name that is wrong.
func allThere(ctx context.Context, paths []string) error {
	for _, path := range paths {
		if _, err := os.Stat(path); err != nil {
			src, err := audio.Open(ctx, path) // for its error
			if err != nil {
				return err
			}
			src.Close()
		}
	}
	return nil
}

// ReadEach reads files as [Reader.ReadAll] does, but continues if one cannot be read. It
// returns one input and one error, which may be nil, for each path.
func (r Reader) ReadEach(ctx context.Context, paths ...string) ([]Input, []error) {
	return r.readEach(ctx, paths, func() {})
}

// readEach reads as many files at the same time as there are processors. It reads profiles
// first, so that an unusable one is reported early. It calls failed after each error.
func (r Reader) readEach(ctx context.Context, paths []string, failed func()) ([]Input, []error) {
	inputs, errs := make([]Input, len(paths)), make([]error, len(paths))
	read := func(i int) {
		if inputs[i], errs[i] = r.Read(ctx, paths[i]); errs[i] != nil {
			failed()
		}
	}
	var sounds []int
	for i, path := range paths {
		if !looksLikeProfile(path) {
			sounds = append(sounds, i)
			continue
		}
		read(i)
	}
	// Without ctx's cancellation, so that Each calls read for every path: each gets its own error, even if that is ctx's.
	parallel.Each(context.WithoutCancel(ctx), runtime.GOMAXPROCS(0), len(sounds), func(_ context.Context, i int) error {
		read(sounds[i])
		return nil
	})
	return inputs, errs
}

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
			return nil, Fail(finding.ProfileWrong, "leave that recording out", "%s", err)
		}
	}
	return &all, nil
}

// Mix returns the recording of an input that has just one. For a profile of several it
// returns an [*audio.Error].
func (in Input) Mix() (*measure.Recording, error) {
	if n := len(in.Entries); n != 1 {
		return nil, &audio.Error{Kind: finding.IsProfile, Path: in.Path, Problem: fmt.Sprintf("is a profile of %d recordings, and a mix is one", n),
			Hint: "give the mix itself, or a profile of it alone"}
	}
	return in.Entries[0].Recording, nil
}

// References returns all recordings of the inputs in their order, each once, even if it is
// in several profiles or its file is named twice.
func References(inputs ...Input) []*measure.Recording {
	var all []profile.Profile
	for _, in := range inputs {
		all = append(all, in.Entries)
	}
	return profile.Distinct(all...)
}

// Recordings returns all recordings of the inputs in their order, including repetitions.
func Recordings(inputs ...Input) []*measure.Recording {
	var all []*measure.Recording
	for _, in := range inputs {
		all = append(all, in.Entries.Recordings()...)
	}
	return all
}

// SHA256 returns the SHA-256 of the recording's file in hexadecimal digits: that of the
// profile's entry, or else computed from the file. The input must have just one recording.
func (in Input) SHA256(ctx context.Context) (string, error) {
	if sum := in.Entries[0].SHA256; sum != "" {
		return sum, nil
	}
	sum, err := audio.SHA256(ctx, in.Path)
	return hex.EncodeToString(sum), err
}

// looksLikeProfile reports whether a file starts like a profile. It returns false if the file
// cannot be read; the decoders then report why.
func looksLikeProfile(path string) bool {
	info, err := os.Stat(path)
	if err != nil || !info.Mode().IsRegular() {
		return false
	}
	file, err := os.Open(path)
	if err != nil {
		return false
	}
	defer file.Close()
	start := make([]byte, 512)
	n, _ := io.ReadFull(file, start)
	return profile.Is(start[:n])
}
