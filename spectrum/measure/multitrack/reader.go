package multitrack

import (
	"context"
	"io"
	"math"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
)

// reader reads whole blocks of a source as one or two channels. Two are the first two of the
// source, or a mono source twice; one is a mono source, or the mean of the first two. After
// its end a source is silent.
type reader struct {
	src    audio.Source
	raw    [][]float64
	out    [][]float64
	frames int // read so far
	ended  bool
}

func newReader(src audio.Source, channels int) *reader {
	r := &reader{src: src, raw: audio.NewBlock(src.Format().Channels, blockFrames)}
	if channels == 1 && len(r.raw) > 1 {
		r.out = audio.NewBlock(1, blockFrames)
		return r
	}
	for c := range channels {
		r.out = append(r.out, r.raw[min(c, len(r.raw)-1)])
	}
	return r
}

// read reads the next frames, blockFrames at most, and returns how many there were before
// the end.
func (r *reader) read(frames int) (int, error) {
	n := 0
	part := make([][]float64, len(r.raw))
	for n < frames && !r.ended {
		for c := range part {
			part[c] = r.raw[c][n:frames]
		}
		got, err := r.src.Read(part)
		if err == io.EOF {
			r.ended = true
		} else if err != nil {
			return 0, err
		}
		n += got
	}
	r.frames += n
	for _, x := range r.raw {
		clear(x[n:frames])
	}
	if len(r.out) == 1 && len(r.raw) > 1 {
		for i := range r.out[0][:n] {
			r.out[0][i] = (r.raw[0][i] + r.raw[1][i]) / 2
		}
		clear(r.out[0][n:frames])
	}
	return n, nil
}

// block returns the first frames of the block that was read.
func (r *reader) block(frames int) [][]float64 { return audio.First(r.out, frames) }

// toEnd reads to the end of the source, to find its length.
func (r *reader) toEnd(ctx context.Context) error {
	for !r.ended {
		if err := ctx.Err(); err != nil {
			return err
		}
		if _, err := r.read(blockFrames); err != nil {
			return err
		}
	}
	return nil
}

// lean gathers the power of both channels.
type lean struct{ left, right float64 }

func (l *lean) add(block [][]float64) {
	if len(block) < 2 {
		return
	}
	for i, v := range block[0] {
		l.left += v * v
		l.right += block[1][i] * block[1][i]
	}
}

func (l *lean) balance() float64 {
	return (l.left - l.right) / max(l.left+l.right, math.SmallestNonzeroFloat64)
}

func newTrack(path string, f audio.Format) Track {
	bands := func() []float64 { return make([]float64, spectrum.BandCount) }
	return Track{Path: path, Format: f, Power: bands(), Re: bands(), Im: bands(), Side: bands(), SideRe: bands()}
}

func scale(weight float64, all ...[]float64) {
	for _, x := range all {
		for b := range x {
			x[b] /= max(weight, math.SmallestNonzeroFloat64)
		}
	}
}

// gateAt returns the gate of the second that a window's middle is in.
func gateAt(gate []float64, window int) float64 {
	if row := int(spectrum.MiddleSec(window)); row < len(gate) {
		return gate[row]
	}
	return 0
}
