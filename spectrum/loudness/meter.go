// Package loudness measures loudness and true peak by ITU-R BS.1770-4 and loudness
// range by EBU Tech 3342. It takes and returns numbers only.
//
// Most callers make a meter with [NewMeter], call [Meter.Add] for every block, and pass
// [Meter.Steps] to [Integrated], [Range], [MomentaryMax] or [ShortTermMax]. These depend
// on the steps only, so a stored table of steps can be gated again without the sound.
// True peak has a meter of its own, [PeakMeter].
//
// Limits: the maxima are those on a grid of 100 ms, see [MomentaryMax].
//
// It builds on biquad; spectrum/measure uses it.
package loudness

import (
	"fmt"
	"math"

	"toneplumb/biquad"
)

// Meter measures the K-weighted power of each 100 ms step of a recording, and its sample
// peak. It has filter state and scratch memory, so each recording needs its own.
type Meter struct {
	rateHz  float64
	weights []float64
	filter  *biquad.Cascade
	scratch [][]float64

	steps, peaks []float64
	frames       int // in the current step
	stepFrames   int // of the current step
	power, peak  float64
}

// NewMeter returns a meter for blocks [channel][frame], full scale ±1, at rateHz. Channels
// must be in the order of WAV: left, right, centre, low-frequency effects, surrounds. Four
// channels are taken to have no centre and no low-frequency effects, five no low-frequency
// effects. It panics unless rateHz ≥ 1000 and channels ≥ 1.
func NewMeter(rateHz float64, channels int) *Meter {
	if !(rateHz >= 1000) || channels < 1 {
		panic(fmt.Sprintf("loudness: meter for %g Hz and %d channels", rateHz, channels))
	}
	m := &Meter{
		rateHz:  rateHz,
		weights: channelWeights(channels),
		filter:  biquad.NewCascadeOf(kSections(rateHz), channels),
		scratch: make([][]float64, channels),
	}
	m.stepFrames = m.stepEnd(1)
	for c := range m.scratch {
		m.scratch[c] = make([]float64, m.stepFrames+1)
	}
	return m
}

// channelWeights returns G_i of BS.1770-4, table 3: 1 for the front, 1.41 (1.5 dB)
// for surrounds, 0 for low-frequency effects. Channels after the sixth are taken as
// surrounds.
func channelWeights(channels int) []float64 {
	w := make([]float64, channels)
	for c := range w {
		switch {
		case c < 2, c == 2 && channels != 4:
			w[c] = 1
		case c == 3 && channels >= 6:
			w[c] = 0
		default:
			w[c] = 1.41
		}
	}
	return w
}

// stepEnd returns the first frame after the first n steps.
func (m *Meter) stepEnd(n int) int {
	return int(math.Round(float64(n) * m.rateHz / StepsPerSecond))
}

// Add takes the next block, of any length, with the meter's number of channels.
// The block is not changed.
func (m *Meter) Add(block [][]float64) {
	part := make([][]float64, len(block))
	for at := 0; at < len(block[0]); {
		n := min(m.stepFrames-m.frames, len(block[0])-at)
		for c, x := range block {
			x = x[at : at+n]
			m.peak = max(m.peak, peakOf(x))
			part[c] = m.scratch[c][:n]
			copy(part[c], x)
		}
		m.filter.Run(part)
		for c, y := range part {
			sum := 0.0
			for _, v := range y {
				sum += v * v
			}
			m.power += m.weights[c] * sum
		}
		at += n
		if m.frames += n; m.frames == m.stepFrames {
			m.finish()
		}
	}
}

// finish ends the current step and starts the next.
func (m *Meter) finish() {
	m.steps = append(m.steps, m.power/float64(m.stepFrames))
	m.peaks = append(m.peaks, m.peak)
	m.power, m.peak, m.frames = 0, 0, 0
	m.stepFrames = m.stepEnd(len(m.steps)+1) - m.stepEnd(len(m.steps))
}

// Steps returns the K-weighted power of each whole 100 ms step so far: the sum
// over channels of G_i times the mean square, full scale ±1.
func (m *Meter) Steps() []float64 { return m.steps }

// Peaks returns the largest absolute sample of each whole 100 ms step so far.
func (m *Meter) Peaks() []float64 { return m.peaks }

func peakOf(x []float64) float64 {
	high, low := 0.0, 0.0
	for _, v := range x {
		if v > high {
			high = v
		}
		if v < low {
			low = v
		}
	}
	return math.Max(high, -low)
}
