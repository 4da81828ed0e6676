// Package multitrack measures a mix together with single tracks of it, read in step.
//
// [Measure] makes the [Table] from which everything about single tracks is computed.
// [Table.MeasureFilters] reads them again with filters on some tracks. [CoherentPower] finds
// one track in a mix.
//
// It builds on biquad, spectrum, spectrum/audio and spectrum/loudness.
package multitrack

import (
	"context"
	"fmt"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/parallel"
)

// Thirds is the number of third-octave bands of IEC 61260-1 from 20 Hz (only its upper half
// is measured) to 20 kHz (only its lower half).
const Thirds = 31

// ThirdBands returns the bands of package spectrum that make up a third octave, 0 ≤ third <
// Thirds: from…to−1.
func ThirdBands(third int) (from, to int) {
	const nest = spectrum.BandsPerOctave / 3
	return max(0, nest*third-nest/2), min(nest*third+nest/2, spectrum.BandCount)
}

// Track is the table of one single track of a mix. Powers are relative to full scale ±1 and
// summed over the channels of the mix: in a stereo mix a mono track counts on both sides, in
// a mono mix a stereo track is the mean of its channels.
type Track struct {
	Path        string
	Format      audio.Format
	DurationSec float64 // of the track itself; after its end it is silent

	// Power is |T|², and Re and Im are T·M*, per band, the mean over the mix's gate.
	Power, Re, Im []float64

	// Side and SideRe are |T_S|² and Re(T_S·M_S*) of the sides, (L − R)/√2, per band likewise.
	Side, SideRe []float64

	// RowPower is |T|², and RowRe is Re(T·M*), of second r and third octave t at
	// [r·Thirds + t], see ThirdBands.
	RowPower, RowRe []float32

	RowSide, RowSideRe []float32 // likewise of the sides

	// Balance is how far the track leans to the left: (|L|² − |R|²)/(|L|² + |R|²) of all of it,
	// −1 to 1.
	Balance float64

	StepPower []float64 // K-weighted power per 100 ms, see loudness.Meter.Steps

	// LagFrames is the number of frames by which the track seems to lag behind the mix.
	// WithoutLag is how well they correlate without that lag, relative to how well with it,
	// 0 to 1. See spectrum.CrossAnalyser.Lag.
	LagFrames  int
	WithoutLag float64

	ShiftedSec float64 // by how much the track was late before Realign

	Sketch *spectrum.Sketch // over the mix's gate: for coherence with other tracks

	Warnings []audio.Remark // of the decoder, and about channels left out
}

// Table is the table of a mix and of single tracks that were read in step with it. It does
// not depend on how many were read at the same time.
type Table struct {
	RateHz   float64
	Rows     int       // seconds
	Gate     []float64 // the weight of each second, 0 to 1
	Windows  int       // analysed, in the whole mix
	MixPower []float64 // |M|² per band, the mean over the gate
	RowMix   []float32 // |M|² of second r and third octave t at [r·Thirds + t]
	RowSide  []float32 // |M_S|², likewise
	Tracks   []Track

	MixSketch *spectrum.Sketch
}

// blockFrames is the number of frames read at a time. Our choice.
const blockFrames = 1 << 14

// Opener opens a recording, as audio.Open does.
type Opener = func(ctx context.Context, path string) (audio.Source, error)

// mostAtOnce is the largest number of tracks that are read together with one copy of the
// mix. The mix is analysed once for each group, so larger groups cost less: measured on 16
// tracks on one core, groups of 1, 2, 4, 8 and 16 take 1.80, 1.40, 1.17, 1.06 and 1 times as
// long.
const mostAtOnce = 8

// Measure reads single tracks in step with the mix, in groups on up to goroutines
// goroutines; it opens the mix once for each group. gate has the weight of each second of
// the mix, 0 to 1, see measure.Recording.GateWeights. All recordings must start together;
// tracks are not measured beyond the end of the mix. The error is that of open or of a
// source, ctx's, or an [*audio.Error] for a track with another sample rate than the mix's.
// It panics without tracks and if goroutines is below 1.
func Measure(ctx context.Context, open Opener, mix string, gate []float64, tracks []string, goroutines int) (*Table, error) {
	if len(tracks) == 0 || goroutines < 1 {
		panic("multitrack: no tracks or goroutines")
	}
	// The smallest number of groups that holds all tracks, but a multiple of the goroutines so
	// that none is idle at the end: five groups of eight on two goroutines took as long as six.
	count := (len(tracks) + mostAtOnce - 1) / mostAtOnce
	count = min((count+goroutines-1)/goroutines*goroutines, len(tracks))
	var groups []*group
	for i := range count {
		from, to := i*len(tracks)/count, (i+1)*len(tracks)/count
		g := newGroup(gate)
		g.open, g.mixPath, g.paths = open, mix, tracks[from:to]
		groups = append(groups, g)
	}
	err := parallel.Each(ctx, goroutines, len(groups), func(ctx context.Context, i int) error { return groups[i].read(ctx) })
	if err != nil {
		return nil, err
	}
	table := groups[0].table
	for _, g := range groups[1:] {
		table.Tracks = append(table.Tracks, g.table.Tracks...)
	}
	return &table, nil
}

// group reads some tracks together with one copy of the mix.
type group struct {
	open    Opener
	mixPath string
	paths   []string
	gate    []float64

	table   Table
	row     int // the current second
	windows int // in it so far
	mixRow  [spectrum.BandCount]float64
	mixSide [spectrum.BandCount]float64
	rows    []spectrum.CrossBands
	weight  float64 // of all rows
}

func newGroup(gate []float64) *group {
	return &group{gate: gate, table: Table{Gate: gate, MixPower: make([]float64, spectrum.BandCount)}}
}

func (g *group) read(ctx context.Context) error {
	readers, err := openTogether(ctx, g.open, append([]string{g.mixPath}, g.paths...)) // the mix, then the tracks
	if err != nil {
		return err
	}
	defer closeAll(readers)
	channels := len(readers[0].out)
	g.table.RateHz = float64(readers[0].src.Format().RateHz)
	for i, path := range g.paths {
		g.table.Tracks = append(g.table.Tracks, newTrack(path, readers[i+1].src.Format()))
	}
	rateHz := g.table.RateHz
	g.rows = make([]spectrum.CrossBands, len(g.paths))
	analyser := spectrum.NewCrossAnalyser(rateHz, channels, len(g.paths), g.add)
	analyser.KeepSketches(func(window int) float64 { return gateAt(g.gate, window) })
	meters := make([]*loudness.Meter, len(g.paths))
	for i := range meters {
		meters[i] = loudness.NewMeter(rateHz, channels)
	}
	blocks := make([][][]float64, len(g.paths))
	leans := make([]lean, len(g.paths))
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		n, err := readers[0].read(blockFrames)
		if err != nil {
			return err
		}
		if n == 0 {
			break
		}
		for i, r := range readers[1:] {
			if _, err := r.read(n); err != nil {
				return err
			}
			blocks[i] = r.block(n)
			meters[i].Add(blocks[i])
			leans[i].add(blocks[i])
		}
		analyser.Add(readers[0].block(n), blocks)
	}
	g.mixPower()
	g.table.MixSketch = analyser.Sketch(-1)
	for i := range g.table.Tracks {
		t, r := &g.table.Tracks[i], readers[i+1]
		t.StepPower, t.Balance = meters[i].Steps(), leans[i].balance()
		t.LagFrames, t.WithoutLag = analyser.Lag(i)
		t.Sketch = analyser.Sketch(i)
		if err := r.toEnd(ctx); err != nil {
			return err
		}
		t.DurationSec = float64(r.frames) / rateHz
		t.Warnings = r.src.Warnings()
		if c := t.Format.Channels; c > 2 {
			t.Warnings = append(t.Warnings, codec.Remark{Kind: codec.FrontPair, Count: int64(c)})
		}
		scale(g.weight, t.Power, t.Re, t.Im, t.Side, t.SideRe)
	}
	return nil
}

// mixPower ends the last second and returns the mix's power, the mean over the gate.
func (g *group) mixPower() []float64 {
	g.finishRow()
	scale(g.weight, g.table.MixPower)
	return g.table.MixPower
}

// sameRate returns an error if the track has another sample rate than the mix.
func sameRate(track, mix audio.Source, path string) error {
	a, b := track.Format().RateHz, mix.Format().RateHz
	if a == b {
		return nil
	}
	return &audio.Error{Kind: finding.RatesDiffer, Path: path,
		Problem: fmt.Sprintf("is sampled at %g kHz, the mix at %g kHz", float64(a)/1000, float64(b)/1000),
		Hint:    "bounce it from the same session, at the rate of the mix and from the same start"}
}

// add averages windows into seconds, as measure.Measure does.
func (g *group) add(window int, mix *spectrum.Bands, tracks []spectrum.CrossBands) {
	if row := int(spectrum.MiddleSec(window)); row > g.row {
		g.finishRow()
		g.row = row
	}
	g.windows++
	g.table.Windows++
	for b, p := range mix.Power {
		g.mixRow[b] += p
		g.mixSide[b] += max(p/2-mix.Cross[b], 0)
	}
	for i := range tracks {
		from, to := &tracks[i], &g.rows[i]
		for b := range from.Power {
			to.Power[b] += from.Power[b]
			to.Re[b] += from.Re[b]
			to.Im[b] += from.Im[b]
			to.Side[b] += from.Side[b]
			to.SideRe[b] += from.SideRe[b]
		}
	}
}

// finishRow adds the current second to the gated means and appends it to the table.
func (g *group) finishRow() {
	if g.windows == 0 {
		return
	}
	t, n, w := &g.table, float64(g.windows), 0.0
	if g.row < len(g.gate) {
		w = g.gate[g.row]
	}
	g.weight += w
	t.Rows++
	take := func(row *[spectrum.BandCount]float64, mean []float64, thirds *[]float32) {
		for third := range Thirds {
			sum := 0.0
			from, to := ThirdBands(third)
			for b := from; b < to; b++ {
				sum += row[b] / n
				if mean != nil {
					mean[b] += w * row[b] / n
				}
			}
			if thirds != nil {
				*thirds = append(*thirds, float32(sum))
			}
		}
		*row = [spectrum.BandCount]float64{}
	}
	take(&g.mixRow, t.MixPower, &t.RowMix)
	take(&g.mixSide, nil, &t.RowSide)
	for i := range g.rows {
		r, track := &g.rows[i], &t.Tracks[i]
		take(&r.Power, track.Power, &track.RowPower)
		take(&r.Re, track.Re, &track.RowRe)
		take(&r.Im, track.Im, nil)
		take(&r.Side, track.Side, &track.RowSide)
		take(&r.SideRe, track.SideRe, &track.RowSideRe)
	}
	g.windows = 0
}
