package listen

import (
	"context"
	"fmt"
	"io"
	"math"

	"toneplumb/match"
	"toneplumb/match/document"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/parallel"
)

// Check holds measurements of a mix before and after the moves and the trim. Peaks are those
// of all its channels, loudness is that of its front pair; see [measure.FrontPair].
type Check struct {
	Frames int64

	LoudnessBeforeLUFS float64 // integrated, BS.1770-4; −Inf if no 400 ms are louder than −70 LUFS
	LoudnessAfterLUFS  float64
	TruePeakAfterDBTP  float64 // at least loudness.FloorDBTP
	SamplePeak         float64 // largest absolute sample after the moves, full scale 1
	Clipped            int64   // frames after the moves with a sample beyond full scale, which integers cannot hold
}

// ChangeLU returns the change of loudness, after minus before; 0 if either is −Inf.
func (c Check) ChangeLU() float64 {
	if math.IsInf(c.LoudnessBeforeLUFS, -1) || math.IsInf(c.LoudnessAfterLUFS, -1) {
		return 0
	}
	return c.LoudnessAfterLUFS - c.LoudnessBeforeLUFS
}

// Changes of loudness.
const (
	// EqualLU is the largest change of loudness taken for none. Our choice: a tenth of the 0.2 LU
	// within which levels are compared (common practice, no source).
	EqualLU = 0.02
	// RoundedLU is the largest change that a trim in tenths of a dB leaves.
	RoundedLU = EqualLU + 0.05
)

const blockFrames = 1 << 13 // read at a time

// Render applies the moves and the trim to src, block by block, and measures before and
// after. It passes each block to sink, which must not keep it; sink may be nil. It returns an
// error if the rate is below [measure.MinRateHz] or a move does not fit below half of it, and those
// of sink, src and ctx.
func Render(ctx context.Context, src audio.Source, s *document.Settings, sink func(block [][]float64) error) (Check, error) {
	format := src.Format()
	if format.RateHz < measure.MinRateHz {
		return Check{}, fmt.Errorf("a sample rate of %d Hz is below %d", format.RateHz, measure.MinRateHz)
	}
	before := loudness.NewMeter(float64(format.RateHz), min(2, format.Channels))
	c, err := throughMoves(ctx, &listened{src, before}, s, sink)
	if err == nil {
		c.LoudnessBeforeLUFS = loudness.Integrated(before.Steps())
	}
	return c, err
}

// throughMoves is [Render] without the loudness before the moves.
func throughMoves(ctx context.Context, src audio.Source, s *document.Settings, sink func(block [][]float64) error) (Check, error) {
	var c Check
	format := src.Format()
	rateHz := float64(format.RateHz)
	after, peak := loudness.NewMeter(rateHz, min(2, format.Channels)), loudness.NewPeakMeter(rateHz, format.Channels)
	moved, err := Through(src, s)
	if err != nil {
		return c, err
	}
	err = eachBlock(ctx, moved, func(block [][]float64) error {
		after.Add(measure.FrontPair(block))
		peak.Add(block)
		c.add(block)
		if sink != nil {
			return sink(block)
		}
		return nil
	})
	if err != nil {
		return c, err
	}
	c.LoudnessAfterLUFS = loudness.Integrated(after.Steps())
	c.TruePeakAfterDBTP = peak.TruePeakDBTP()
	return c, nil
}

// eachBlock reads src to its end and calls use with each block, while the next is read on
// another goroutine. It stops with the first error of use, src or ctx; when it has returned,
// src is no longer being read. It panics if src's Read has panicked.
func eachBlock(ctx context.Context, src audio.Source, use func(block [][]float64) error) error {
	type result struct {
		block [][]float64
		n     int
		err   error
	}
	free, read := make(chan [][]float64, 2), make(chan result)
	for range cap(free) {
		free <- audio.NewBlock(src.Format().Channels, blockFrames)
	}
	var panicked *parallel.Panic
	go func() {
		defer close(read)
		panicked = parallel.Caught(func() {
			for block := range free {
				n, err := src.Read(block)
				read <- result{block, n, err}
				if err != nil {
					return
				}
			}
		})
	}()
	defer func() {
		close(free)
		for range read { // until the reading has ended
		}
		panicked.Again()
	}()
	for r := range read {
		if err := ctx.Err(); err != nil {
			return err
		}
		if r.err == io.EOF {
			return nil
		}
		if r.err != nil {
			return r.err
		}
		if err := use(audio.First(r.block, r.n)); err != nil {
			return err
		}
		free <- r.block
	}
	return nil
}

// Confirm reads the mix from src with the result's moves and trim applied, and records its
// loudness and peaks in the result, which may lower the trim. It returns them as measured, before
// that. Its loudness before the moves is known from r.Mix.
func Confirm(ctx context.Context, src audio.Source, r *match.Result) (match.Confirmed, error) {
	check, err := throughMoves(ctx, src, r.Settings(), nil)
	if err != nil {
		return match.Confirmed{}, err
	}
	measured := match.Confirmed{
		LoudnessBeforeLUFS: r.Mix.WholeLUFS, LoudnessAfterLUFS: check.LoudnessAfterLUFS,
		TruePeakDBTP: check.TruePeakAfterDBTP,
	}
	r.Confirm(measured)
	return measured, nil
}

// add counts frames, those beyond full scale, and the sample peak.
func (c *Check) add(block [][]float64) {
	c.Frames += int64(len(block[0]))
	largest := 0.0
	for _, x := range block {
		for _, v := range x {
			if v = math.Abs(v); v > largest {
				largest = v
			}
		}
	}
	c.SamplePeak = max(c.SamplePeak, largest)
	if largest <= 1 {
		return
	}
	for i := range block[0] {
		for _, x := range block {
			if math.Abs(x[i]) > 1 {
				c.Clipped++
				break
			}
		}
	}
}

// listened is a source whose sound is measured while it is read.
type listened struct {
	audio.Source
	meter *loudness.Meter
}

func (l *listened) Read(dst [][]float64) (int, error) {
	n, err := l.Source.Read(dst)
	if n > 0 {
		l.meter.Add(measure.FrontPair(audio.First(dst, n)))
	}
	return n, err
}
