package multitrack

import (
	"context"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/parallel"
)

// TrackFilter is the same equaliser on each of some single tracks of a mix.
type TrackFilter struct {
	Tracks  []string  // paths
	Gains   []float64 // of each track in the mix, as a factor on amplitudes; below 0 inverted
	TrimsDB []float64 // of each track, after the filters; nil: none
	Filters []biquad.Filter
}

// FilteredMix holds measurements of a mix with a [TrackFilter] applied.
type FilteredMix struct {
	MixPower     []float64   // |M + (H−1)·Σg·T|² per band, the mean over the gate
	TrimmedPower []float64   // the same with each track's trim; nil without TrimsDB
	StepPower    [][]float64 // of each track after the filters, without trim: K-weighted power per 100 ms
}

// MeasureFilters reads a mix in step with some tracks and measures it with each of the filters applied. open and goroutines
// are as for [Measure]. It panics if goroutines is below 1. The error is that of open, of a source or ctx's.
//
// The [Table] predicts nearly the same without reading, but has two errors. Below 60 Hz bands are narrower than the window
// resolves, so a band's power comes partly from tones in its neighbours, on which a steep filter has another effect. And
// the table does not include the correlation between tracks that have the same filter.
func (t *Table) MeasureFilters(ctx context.Context, open Opener, mix string, filters []TrackFilter, goroutines int) ([]FilteredMix, error) {
	if goroutines < 1 {
		panic("multitrack: no goroutines")
	}
	all := make([]FilteredMix, len(filters))
	err := parallel.Each(ctx, goroutines, len(filters), func(ctx context.Context, i int) (err error) {
		all[i], err = filters[i].measure(ctx, open, mix, t.Gate)
		return err
	})
	return all, err
}

// measure reads the mix with one filter applied.
func (c TrackFilter) measure(ctx context.Context, open Opener, mix string, gate []float64) (FilteredMix, error) {
	var out FilteredMix
	readers, err := openTogether(ctx, open, append([]string{mix}, c.Tracks...)) // the mix, then the tracks
	if err != nil {
		return out, err
	}
	defer closeAll(readers)
	channels, rateHz := len(readers[0].out), float64(readers[0].src.Format().RateHz)
	var cascades []*biquad.Cascade
	var meters []*loudness.Meter
	for range c.Tracks {
		cascades = append(cascades, biquad.NewCascade(c.Filters, rateHz, channels))
		meters = append(meters, loudness.NewMeter(rateHz, channels))
	}
	wet := audio.NewBlock(channels, blockFrames)
	sums := []*filteredSum{newFilteredSum(rateHz, channels, gate, nil)}
	if c.TrimsDB != nil {
		sums = append(sums, newFilteredSum(rateHz, channels, gate, c.TrimsDB))
	}
	for {
		if err := ctx.Err(); err != nil {
			return out, err
		}
		n, err := readers[0].read(blockFrames)
		if err != nil {
			return out, err
		}
		if n == 0 {
			break
		}
		for _, sum := range sums {
			for ch, x := range readers[0].block(n) {
				copy(sum.block[ch], x)
			}
		}
		for i, r := range readers[1:] {
			if _, err := r.read(n); err != nil {
				return out, err
			}
			dry, through := r.block(n), audio.First(wet, n)
			for ch := range dry {
				copy(through[ch], dry[ch])
			}
			cascades[i].Run(through)
			meters[i].Add(through)
			for _, sum := range sums {
				sum.replace(i, c.Gains[i], dry, through)
			}
		}
		for _, sum := range sums {
			sum.analyser.Add(audio.First(sum.block, n), nil)
		}
	}
	out.MixPower = sums[0].mean.mixPower()
	if c.TrimsDB != nil {
		out.TrimmedPower = sums[1].mean.mixPower()
	}
	for _, m := range meters {
		out.StepPower = append(out.StepPower, m.Steps())
	}
	return out, nil
}

// filteredSum measures the mix with its filtered tracks.
type filteredSum struct {
	trimsDB  []float64 // of each track; nil: none
	block    [][]float64
	mean     *group                  // without tracks
	analyser *spectrum.CrossAnalyser // uses the same bins as the table
}

func newFilteredSum(rateHz float64, channels int, gate, trimsDB []float64) *filteredSum {
	mean := newGroup(gate)
	return &filteredSum{trimsDB, audio.NewBlock(channels, blockFrames), mean, spectrum.NewCrossAnalyser(rateHz, channels, 0, mean.add)}
}

// replace subtracts a track from the block at its gain and adds it filtered and trimmed.
func (s *filteredSum) replace(track int, gain float64, dry, filtered [][]float64) {
	trim := 1.0
	if s.trimsDB != nil {
		trim = spectrum.DBToAmp(s.trimsDB[track])
	}
	for ch := range dry {
		for k, v := range filtered[ch] {
			s.block[ch][k] += gain * (trim*v - dry[ch][k])
		}
	}
}
