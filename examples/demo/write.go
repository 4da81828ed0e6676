// Package demo makes two recordings to try toneplumb on: the rough mix of an evening class, and the finished piece of
// another group, which serves as the reference. Both are composed and synthesised here, from a fixed seed; groups and
// pieces are invented. [Write] writes the two WAV files and [WriteTracks] the single tracks of the mix. [RoughMix] and
// [Finished] return the pieces.
//
// The bytes are the same on every run on the same kind of processor. On a processor that fuses multiplication and
// addition, single samples may differ by one step.
//
// It builds on biquad and spectrum/audio; the command line and the local page use it.
package demo

import (
	"context"
	"path/filepath"

	"toneplumb/spectrum/audio"
)

// Write renders both pieces into dir, which must exist, as 44.1 kHz stereo 16-bit WAV files, and returns their paths. It
// replaces files of the same names. It calls progress, if not nil, with the share of the work done, 0 to 1. If it fails or
// ctx ends, it writes and replaces no file. There is one exception: if the system cannot rename the finished reference,
// the mix stays in place.
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
	for _, step := range []func() error{mixFile.Finish, refFile.Finish, mixFile.Close, refFile.Close} {
		if err := step(); err != nil {
			return "", "", err
		}
	}
	return mixPath, refPath, nil
}

// WriteTracks renders the tracks of the rough mix one by one into dir, which must exist, in the format of [Write], and
// returns their paths. It replaces files of the same names. If it fails or ctx ends, it may have written some of them.
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

// render writes a piece, or some tracks of it, into a new file and returns its writer, which the caller must close.
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
