// Package job carries out what a front end is asked for: it opens and measures recordings,
// applies the options a person chose, compares, and returns one typed outcome. The command
// line, watching, and the local page translate into a job and translate its outcome back;
// none of them puts the steps together itself.
//
// A [Reader] opens and measures files side by side. [Options] hold every choice that a
// comparison knows, so that each is to be had wherever it makes sense. [Compare] puts
// them in their order: names, the moves of an earlier round taken back, parts, comparison.
package job

import (
	"context"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"runtime"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/profile"
	"toneplumb/spectrum/parallel"
)

// Opener opens a recording: [audio.Open], or what serves a copy in its place.
type Opener func(context.Context, string) (audio.Source, error)

// Reader opens and measures recordings. The zero value is ready.
type Reader struct {
	Open  Opener                                           // nil: audio.Open
	Watch func(src audio.Source, path string) audio.Source // follows the reading; nil: nobody does
}

// open opens a recording that is to be read to its end.
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

// Measure measures one recording.
func (r Reader) Measure(ctx context.Context, path string) (*measure.Recording, error) {
	src, err := r.open(ctx, path)
	if err != nil {
		return nil, err
	}
	defer src.Close()
	return measure.Measure(ctx, src, path)
}

// Input is what one named file holds: a recording, or the recordings of a profile.
type Input struct {
	Path      string
	IsProfile bool
	Entries   profile.Profile // of a recording one, without its sum
}

// Read reads a profile or measures a recording.
func (r Reader) Read(ctx context.Context, path string) (Input, error) {
	in := Input{Path: path, IsProfile: looksLikeProfile(path)}
	if in.IsProfile {
		if err := ctx.Err(); err != nil {
			return in, err
		}
		var err error
		in.Entries, err = readProfile(path)
		return in, err
	}
	recording, err := r.Measure(ctx, path)
	if err == nil {
		in.Entries = profile.Profile{{Recording: recording}}
	}
	return in, err
}

// ReadAll reads files side by side and returns what they hold in the order of the paths. A
// name that is wrong is told at once; the first error ends the others.
func (r Reader) ReadAll(ctx context.Context, paths ...string) ([]Input, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	for _, path := range paths {
		if _, err := os.Stat(path); err != nil {
			src, err := audio.Open(ctx, path) // it has the words
			if err != nil {
				return nil, err
			}
			src.Close()
		}
	}
	inputs, errs := r.readEach(ctx, paths, cancel)
	return inputs, parallel.FirstError(errs)
}

// ReadEach is ReadAll for files of which one that cannot be read stops no other: its error
// stands in the place of its path.
func (r Reader) ReadEach(ctx context.Context, paths ...string) ([]Input, []error) {
	return r.readEach(ctx, paths, func() {})
}

// readEach reads as many files at once as there are processors, profiles first, since one
// that cannot be used is then told at once. It calls failed with each error.
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
	// Each path gets its own error, from ctx too: so none is kept from beginning.
	parallel.Each(context.WithoutCancel(ctx), runtime.GOMAXPROCS(0), len(sounds), func(_ context.Context, i int) error {
		read(sounds[i])
		return nil
	})
	return inputs, errs
}

// Mix returns the one recording that an input holds.
func (in Input) Mix() (*measure.Recording, error) {
	if n := len(in.Entries); n != 1 {
		return nil, &audio.Error{Path: in.Path, Problem: fmt.Sprintf("is a profile of %d recordings, and a mix is one", n),
			Hint: "give the mix itself, or a profile of it alone"}
	}
	return in.Entries[0].Recording, nil
}

// References returns all recordings of the inputs in their order; what stands in several
// profiles, or is named twice, is taken once.
func References(inputs ...Input) []*measure.Recording {
	var all []profile.Profile
	for _, in := range inputs {
		all = append(all, in.Entries)
	}
	return profile.Distinct(all...)
}

// Recordings returns all recordings of the inputs in their order.
func Recordings(inputs ...Input) []*measure.Recording {
	var all []*measure.Recording
	for _, in := range inputs {
		for _, e := range in.Entries {
			all = append(all, e.Recording)
		}
	}
	return all
}

// SHA256 returns the sum of the input's file, in hexadecimal digits: that of its entry where
// one is known, else that of the bytes. Only an input of one recording has one.
func (in Input) SHA256(ctx context.Context) (string, error) {
	if sum := in.Entries[0].SHA256; sum != "" {
		return sum, nil
	}
	sum, err := audio.SHA256(ctx, in.Path)
	return hex.EncodeToString(sum), err
}

// looksLikeProfile looks at a file's start. What cannot be read is left to the decoders,
// which say why.
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

func readProfile(path string) (profile.Profile, error) {
	file, err := OpenText(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return profile.Read(file, path)
}
