package cli

import (
	"context"
	"encoding/hex"
	"fmt"
	"io"
	"os"

	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// input is what one named file holds: a recording, or the recordings of a profile.
type input struct {
	path    string
	profile bool
	entries measure.Profile // of a recording one, without its sum
}

// readInputs reads profiles and measures recordings, in the order of the paths.
// Profiles come first, since one that cannot be used is told at once.
func readInputs(ctx context.Context, paths []string, stderr io.Writer) ([]input, error) {
	return readThrough(ctx, audio.Open, paths, stderr)
}

// readThrough is readInputs with an opener.
func readThrough(ctx context.Context, open opener, paths []string, stderr io.Writer) ([]input, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	if err := unopenable(ctx, paths); err != nil {
		return nil, err
	}
	inputs, errs := readEach(ctx, open, paths, stderr, cancel)
	return inputs, measure.FirstError(errs)
}

// readEach reads profiles and recordings; an error stands in the place of its path, and
// failed is called with each.
func readEach(ctx context.Context, open opener, paths []string, stderr io.Writer, failed func()) ([]input, []error) {
	inputs, errs := make([]input, len(paths)), make([]error, len(paths))
	var sounds []string
	var at []int // of each sound
	for i, path := range paths {
		inputs[i].path = path
		if !looksLikeProfile(path) {
			sounds, at = append(sounds, path), append(at, i)
			continue
		}
		inputs[i].profile = true
		if errs[i] = ctx.Err(); errs[i] == nil {
			inputs[i].entries, errs[i] = readProfile(path)
		}
		if errs[i] != nil {
			failed()
		}
	}
	recordings, of := measureEach(ctx, open, sounds, stderr, failed)
	for k, i := range at {
		if errs[i] = of[k]; errs[i] == nil {
			inputs[i].entries = measure.Profile{{Recording: recordings[k]}}
		}
	}
	return inputs, errs
}

// looksLikeProfile looks at a file's start. What cannot be read is left to the
// decoders, which say why.
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
	return measure.IsProfile(start[:n])
}

func readProfile(path string) (measure.Profile, error) {
	file, err := openText(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return measure.ReadProfile(file, path)
}

// asMix returns the one recording that an input holds.
func (in input) asMix() (*measure.Recording, error) {
	if n := len(in.entries); n != 1 {
		return nil, &audio.Error{Path: in.path, Problem: fmt.Sprintf("is a profile of %d recordings, and a mix is one", n),
			Hint: "give the mix itself, or a profile of it alone"}
	}
	return in.entries[0].Recording, nil
}

// asReferences returns all recordings of the inputs in their order; what stands in
// several profiles, or is named twice, is taken once.
func asReferences(inputs []input) []*measure.Recording {
	var all []measure.Profile
	for _, in := range inputs {
		all = append(all, in.entries)
	}
	return measure.Distinct(all...)
}

// sumOf returns the SHA-256 of a file's bytes, in hexadecimal digits.
func sumOf(ctx context.Context, path string) (string, error) {
	sum, err := audio.SHA256(ctx, path)
	return hex.EncodeToString(sum), err
}

// nameOf is how a path is called in sentences.
func nameOf(path string) string { return report.Name(path) }
