// Package demo makes two recordings to try the tool on: the rough mix of an evening class and the finished piece of
// another group, which serves as the reference. Both are composed and synthesised here, from a fixed seed; groups and
// pieces are invented. Write makes the two WAV files; RoughMix and Finished return the pieces, whose tracks can also be
// rendered one by one.
//
// The same seed gives the same bytes on the same kind of processor; where a processor fuses multiplication and addition,
// single samples may differ by one step.
//
// It builds on biquad and spectrum/audio; the command
// line and match/internal/serve use it.
package demo

import (
	"context"
	"os"
	"path/filepath"

	"toneplumb/spectrum/audio"
)

// Write renders both pieces into dir, which must exist, as 44.1 kHz stereo 16-bit WAV files, and returns their paths. It
// replaces files of the same names. It calls progress, if not nil, with the share of the work done, 0 to 1. When it
// fails or ctx ends neither file is written or replaced, unless the second cannot be put in place after the first.
func Write(ctx context.Context, dir string, progress func(done float64)) (mixPath, refPath string, err error) {
	mix, ref := RoughMix(), Finished()
	mixPath, refPath = filepath.Join(dir, mix.FileName), filepath.Join(dir, ref.FileName)
	total := float64(mix.Frames() + ref.Frames())
	report := func(frames int) {
		if progress != nil {
			progress(float64(frames) / total)
		}
	}
	mixFile, err := render(ctx, mix, mixPath, report)
	if err != nil {
		return "", "", err
	}
	defer mixFile.Abort()
	refFile, err := render(ctx, ref, refPath, func(frames int) { report(mix.Frames() + frames) })
	if err != nil {
		return "", "", err
	}
	defer refFile.Abort()
	if err := mixFile.Close(); err != nil {
		return "", "", err
	}
	if err := refFile.Close(); err != nil {
		os.Remove(mixPath)
		return "", "", err
	}
	return mixPath, refPath, nil
}

// WriteTracks renders the rough mix's tracks one by one into dir, which must exist, as the mix is rendered, and returns
// their paths. It replaces files of the same names; when it fails or ctx ends it has written none or some of them.
func WriteTracks(ctx context.Context, dir string) (paths []string, err error) {
	mix := RoughMix()
	for _, name := range mix.Tracks() {
		path := filepath.Join(dir, name+".wav")
		w, err := render(ctx, mix, path, func(int) {}, name)
		if err != nil {
			return paths, err
		}
		if err := w.Close(); err != nil {
			return paths, err
		}
		paths = append(paths, path)
	}
	return paths, nil
}

// render writes a piece, or some tracks of it, into a file that is not yet closed.
func render(ctx context.Context, p *Piece, path string, report func(frames int), tracks ...string) (*audio.Writer, error) {
	w, err := audio.CreateWAV(path, RateHz, 2, audio.PCM16)
	if err != nil {
		return nil, err
	}
	const blockFrames = RateHz / 4 // our choice: progress and a cancelled context are noticed within 10 ms of work
	block := [][]float64{make([]float64, blockFrames), make([]float64, blockFrames)}
	playing := p.Play(tracks...)
	for done := 0; ; {
		n := playing.Read(block)
		if n == 0 {
			return w, nil
		}
		done += n
		if err = ctx.Err(); err == nil {
			err = w.Write([][]float64{block[0][:n], block[1][:n]})
		}
		if err != nil {
			w.Abort()
			return nil, err
		}
		report(done)
	}
}
