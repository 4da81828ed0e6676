package loudness

import (
	"fmt"
	"math"
)

// FloorDBTP is the true peak told of silence, and the least told of anything:
// JSON cannot hold −Inf. Our choice: below the last step of 32-bit integers,
// which is −187 dB.
const FloorDBTP = -200

const (
	// groupFrames is the stretch that is judged as one; the taps around a group
	// then reach over just its two neighbours.
	groupFrames = halfTaps
	// keptFrames of the past stay in the buffer: the group not yet measured, for
	// want of what comes after it, and the one before.
	keptFrames = 2 * groupFrames
	// bufferFrames: our choice, small enough for the nearest cache.
	bufferFrames = 102 * groupFrames
	// roundingMargin covers the last digits that a bound and a computed value may
	// differ by: 40 products of double precision, at most 1e-11 of the bound.
	roundingMargin = 1 + 1e-9
)

// PeakMeter measures the true peak of a recording by ITU-R BS.1770-4, annex 2:
// the largest absolute value of the sound after oversampling, over all channels.
// Before the first frame and after the last is silence, so a recording that
// starts or ends abruptly at its peak rings there, as it does when played.
//
// Most of the sound is never oversampled: where an upper bound of all values
// between two frames (see bound) does not exceed the peak so far, none can be
// the peak. The result is the same to the last bit. Of 4 min of stereo music at
// 44.1 kHz that leaves 0.07 s of one core (five songs), of loud noise cut off at
// ±0.98 0.4 s, and 2.5 s where nothing can be left out.
//
// It has scratch memory: one for each goroutine and recording.
type PeakMeter struct {
	filter  *filter
	buffers [][]float64 // per channel: what has come and is not yet measured, after keptFrames of the past
	filled  int
	peak    float64

	groups []group // scratch
}

// group has the largest absolute frame and second difference of groupFrames frames.
type group struct{ peak, bend float64 }

// NewPeakMeter returns a meter for blocks [channel][frame] at rateHz. It
// oversamples by the smallest power of two that reaches 176.4 kHz. It panics
// unless rateHz ≥ 1000 and channels ≥ 1.
func NewPeakMeter(rateHz float64, channels int) *PeakMeter {
	if !(rateHz >= 1000) || channels < 1 {
		panic(fmt.Sprintf("loudness: peak meter for %g Hz and %d channels", rateHz, channels))
	}
	m := &PeakMeter{
		filter:  newFilter(oversampling(rateHz)),
		buffers: make([][]float64, channels),
		filled:  keptFrames,
		groups:  make([]group, bufferFrames/groupFrames+2),
	}
	for c := range m.buffers {
		m.buffers[c] = make([]float64, bufferFrames)
	}
	return m
}

// Add takes the next block, of any length, with the meter's number of channels.
// The block is not changed. How the sound is cut into blocks changes nothing.
func (m *PeakMeter) Add(block [][]float64) {
	for at := 0; at < len(block[0]); {
		n := min(bufferFrames-m.filled, len(block[0])-at)
		for c, x := range block {
			copy(m.buffers[c][m.filled:], x[at:at+n])
		}
		at += n
		if m.filled += n; m.filled == bufferFrames {
			for _, x := range m.buffers {
				m.peak = m.peakWithin(x, m.peak)
				copy(x, x[bufferFrames-keptFrames:])
			}
			m.filled = keptFrames
		}
	}
}

// TruePeak returns the true peak of all that was added as a linear value, full
// scale 1; 0 for silence. More may be added afterwards.
func (m *PeakMeter) TruePeak() float64 {
	peak := m.peak
	// All that is left, and silence until the last frame has left the taps.
	groups := (m.filled+groupFrames-1)/groupFrames + 2
	for _, x := range m.buffers {
		rest := make([]float64, groups*groupFrames)
		copy(rest, x[:m.filled])
		peak = m.peakWithin(rest, peak)
	}
	return peak
}

// TruePeakDBTP returns the true peak of all that was added in dB relative to full
// scale, FloorDBTP for silence.
func (m *PeakMeter) TruePeakDBTP() float64 {
	return max(FloorDBTP, 20*math.Log10(m.TruePeak()))
}

// peakWithin returns the larger of peak and the true peak of x except its first
// and last group, which are only the surroundings of the others. x has whole
// groups, three or more.
func (m *PeakMeter) peakWithin(x []float64, peak float64) float64 {
	groups := m.groups[:len(x)/groupFrames]
	for g := range groups {
		groups[g] = groupOf(x, g*groupFrames)
		if groups[g].peak > peak {
			peak = groups[g].peak
		}
	}
	f := m.filter
	if len(f.pairs) == 0 {
		return peak
	}
	for g := 1; g+1 < len(groups); g++ {
		bend := f.bend * max(groups[g-1].bend, groups[g].bend, groups[g+1].bend)
		from := g * groupFrames
		if f.bounded(max(groups[g].peak, math.Abs(x[from+groupFrames])), bend, peak) {
			continue
		}
		for n := from; n < from+groupFrames; n++ {
			if f.bounded(max(math.Abs(x[n]), math.Abs(x[n+1])), bend, peak) {
				continue
			}
			if v := f.largest(x[n+1-halfTaps : n+1+halfTaps]); v > peak {
				peak = v
			}
		}
	}
	return peak
}

// bounded tells that no value beside frames of at most level, where second
// differences times f.bend are at most bend, can exceed peak.
func (f *filter) bounded(level, bend, peak float64) bool {
	return (f.near*level+bend)*roundingMargin <= peak
}

// groupOf returns the group of x that starts at from. The first and the last frame
// of x are left out, having a neighbour on one side only; they are surroundings.
//
// Without their sign, floating-point numbers are in the order of their bits, and
// the larger of two integers takes no jump that the processor would guess wrong.
func groupOf(x []float64, from int) group {
	x = x[max(0, from-1):min(len(x), from+groupFrames+1)]
	var peak, bend uint64
	before, at := x[0], x[1]
	for _, after := range x[2:] {
		peak = max(peak, math.Float64bits(math.Abs(at)))
		bend = max(bend, math.Float64bits(math.Abs(before-2*at+after)))
		before, at = at, after
	}
	return group{math.Float64frombits(peak), math.Float64frombits(bend)}
}
