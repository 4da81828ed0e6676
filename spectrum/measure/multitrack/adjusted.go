package multitrack

import (
	"cmp"
	"context"
	"io"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
)

// Adjustment is a change to one single track of a mix.
type Adjustment struct {
	Path    string
	Gain    float64 // the track's gain in the mix, as a factor on amplitudes; below 0 inverted
	GainDB  float64 // the change of its fader
	SideDB  float64 // of its side, (L − R)/2, beside its mid
	Filters []biquad.Filter
}

// Adjusted opens a mix as it would sound with some tracks adjusted and with filters on the
// master bus, without reading the other tracks:
//
//	H·(M + Σ Gain·(H_k·10^(GainDB/20) − 1)·T_k)
//
// with the mix M, the tracks T_k, their filters H_k the master's filters H, and each
// track's side at its gain. The source
// has the mix's first two channels and its length. It reads the recordings that open returns
// for ctx, and closes them. The error is that of open, or an [*audio.Error] for a track with
// another sample rate than the mix's.
func Adjusted(ctx context.Context, open Opener, mix string, tracks []Adjustment, master []biquad.Filter) (audio.Source, error) {
	return adjust(ctx, open, mix, tracks, master, false)
}

// Changes is like [Adjusted], but opens what the adjustments add to the mix, without it.
func Changes(ctx context.Context, open Opener, mix string, tracks []Adjustment) (audio.Source, error) {
	return adjust(ctx, open, mix, tracks, nil, true)
}

func adjust(ctx context.Context, open Opener, mix string, tracks []Adjustment, master []biquad.Filter, changes bool) (audio.Source, error) {
	a := &adjusted{changes: changes}
	paths := []string{mix}
	for _, t := range tracks {
		paths = append(paths, t.Path)
	}
	readers, err := openTogether(ctx, open, paths)
	if err != nil {
		return nil, err
	}
	a.readers = readers
	a.format = readers[0].src.Format()
	a.format.Channels = len(readers[0].out)
	rateHz := float64(a.format.RateHz)
	a.wet = audio.NewBlock(a.format.Channels, blockFrames)
	for _, t := range tracks {
		a.gains = append(a.gains, t.Gain)
		a.faders = append(a.faders, spectrum.DBToAmp(t.GainDB))
		a.sides = append(a.sides, spectrum.DBToAmp(t.SideDB))
		a.filters = append(a.filters, biquad.NewCascade(t.Filters, rateHz, a.format.Channels))
	}
	a.master = biquad.NewCascade(master, rateHz, a.format.Channels)
	return a, nil
}

// openTogether opens recordings to be read in step, with the number of channels of the
// first, at most two. If one fails it closes all.
func openTogether(ctx context.Context, open Opener, paths []string) (readers []*reader, err error) {
	defer func() {
		if err != nil {
			closeAll(readers)
		}
	}()
	channels := 0
	for i, path := range paths {
		src, err := open(ctx, path)
		if err != nil {
			return readers, err
		}
		if i == 0 {
			channels = min(2, src.Format().Channels)
		}
		readers = append(readers, newReader(src, channels))
		if err := sameRate(src, readers[0].src, path); err != nil {
			return readers, err
		}
	}
	return readers, nil
}

// closeAll closes all recordings and returns the first error.
func closeAll(readers []*reader) (first error) {
	for _, r := range readers {
		first = cmp.Or(first, r.src.Close())
	}
	return first
}

// adjusted is the [audio.Source] of [Adjusted].
type adjusted struct {
	changes bool      // without the mix
	readers []*reader // the mix, then the tracks
	format  audio.Format
	filters []*biquad.Cascade
	master  *biquad.Cascade
	wet     [][]float64

	gains, faders, sides []float64
}

func (a *adjusted) Format() audio.Format { return a.format }

func (a *adjusted) Warnings() []audio.Remark { return a.readers[0].src.Warnings() }

func (a *adjusted) Close() error { return closeAll(a.readers) }

func (a *adjusted) Read(dst [][]float64) (int, error) {
	n, err := a.readers[0].read(min(len(dst[0]), blockFrames))
	if err != nil {
		return 0, err
	}
	if n == 0 {
		return 0, io.EOF
	}
	for ch, x := range a.readers[0].block(n) {
		copy(dst[ch], x)
		if a.changes {
			clear(dst[ch][:n])
		}
	}
	for i, r := range a.readers[1:] {
		if _, err := r.read(n); err != nil {
			return 0, err
		}
		dry, wet := r.block(n), audio.First(a.wet, n)
		for ch := range dry {
			copy(wet[ch], dry[ch])
		}
		a.filters[i].Run(wet)
		if side := a.sides[i]; side != 1 && len(wet) == 2 {
			for k, l := range wet[0] {
				m, d := (l+wet[1][k])/2, side*(l-wet[1][k])/2
				wet[0][k], wet[1][k] = m+d, m-d
			}
		}
		for ch := range dry {
			for k, v := range wet[ch] {
				dst[ch][k] += a.gains[i] * (a.faders[i]*v - dry[ch][k])
			}
		}
	}
	a.master.Run(audio.First(dst, n))
	return n, nil
}

// Sum opens the sum of single tracks that start together; its length is that of the longest.
// It replaces a mix that has not been bounced yet. It is stereo if any track is. The error
// is that of open, or an [*audio.Error] if the sample rates differ. It panics without tracks.
func Sum(ctx context.Context, open Opener, tracks []string) (audio.Source, error) {
	channels, frames := 1, int64(0)
	readers, err := openTogether(ctx, open, tracks)
	if err != nil {
		return nil, err
	}
	for _, r := range readers {
		f := r.src.Format()
		channels = max(channels, min(2, f.Channels))
		if f.Frames < 0 || frames < 0 {
			frames = -1 // unknown if that of any track is
		} else {
			frames = max(frames, f.Frames)
		}
	}
	for i, r := range readers {
		readers[i] = newReader(r.src, channels)
	}
	f := readers[0].src.Format()
	sum := audio.Format{Container: "WAV", Encoding: "float", RateHz: f.RateHz, Channels: channels, Frames: frames}
	return &summed{readers, sum}, nil
}

// summed is the [audio.Source] of [Sum].
type summed struct {
	readers []*reader
	format  audio.Format
}

func (s *summed) Format() audio.Format     { return s.format }
func (s *summed) Warnings() []audio.Remark { return nil } // the tracks have their own
func (s *summed) Close() error             { return closeAll(s.readers) }

func (s *summed) Read(dst [][]float64) (int, error) {
	n := min(len(dst[0]), blockFrames)
	most := 0
	for ch := range dst {
		clear(dst[ch][:n])
	}
	for _, r := range s.readers {
		got, err := r.read(n)
		if err != nil {
			return 0, err
		}
		most = max(most, got)
		for ch, x := range r.block(got) {
			floats.Add(dst[ch][:len(x)], x)
		}
	}
	if most == 0 {
		return 0, io.EOF
	}
	return most, nil
}
