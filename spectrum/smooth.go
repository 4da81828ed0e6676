package spectrum

import (
	"fmt"
	"math"
)

// Smoother averages band values in dB over a fraction of an octave around each
// band. It is linear and its weights do not depend on the values, so a model curve and
// its derivatives can be smoothed exactly as the measured curve was.
type Smoother struct {
	full []int  // bands on each side with weight 1; −1: left out
	half []bool // whether the next band on each side has weight 1/2
}

// NewSmoother returns a smoother over octaves for len(leftOut) bands that ignores the
// bands marked in leftOut. With n = BandsPerOctave·octaves the weights are 1 within ±n/2
// bands and 1/2 at ±n/2. Near an end or a left-out band the half-width shrinks to the
// number of bands on the shorter side, so that every window is symmetric and a straight
// line (in dB over log frequency) passes unchanged. A Smoother is never modified:
// goroutines may share it. It panics unless octaves > 0.
//
// Our choice: a flat window with half weights at its ends is the trapezoid rule; common
// practice has no standard for smoothing.
func NewSmoother(leftOut []bool, octaves float64) *Smoother {
	if !(octaves > 0) {
		panic(fmt.Sprintf("spectrum: smoothing over %g octaves", octaves))
	}
	n := len(leftOut)
	s := &Smoother{full: make([]int, n), half: make([]bool, n)}
	below := make([]int, n) // judged bands directly below
	for i := 1; i < n; i++ {
		if !leftOut[i-1] {
			below[i] = below[i-1] + 1
		}
	}
	above := 0
	for i := n - 1; i >= 0; i-- {
		half := math.Min(octaves*BandsPerOctave/2, float64(min(below[i], above)))
		s.full[i] = max(0, int(math.Ceil(half))-1)
		s.half[i] = half >= 1 && half == math.Trunc(half)
		above++
		if leftOut[i] {
			s.full[i], s.half[i] = -1, false
			above = 0
		}
	}
	return s
}

// Smooth writes the smoothed values of db to dst (nil: a new slice) and returns
// it. dst may be db. Left-out bands become 0 and their input is ignored. It panics unless
// both have the number of bands given to [NewSmoother].
func (s *Smoother) Smooth(dst, db []float64) []float64 {
	if dst == nil {
		dst = make([]float64, len(db))
	}
	if len(db) != len(s.full) || len(dst) != len(db) {
		panic(fmt.Sprintf("spectrum: smoothing %d bands into %d, made for %d", len(db), len(dst), len(s.full)))
	}
	sum := make([]float64, 1, BandCount+1) // sum[i]: of all judged values before band i; on the stack
	for i, v := range db {
		if s.full[i] < 0 {
			v = 0
		}
		sum = append(sum, sum[i]+v)
	}
	for i, full := range s.full {
		if full < 0 {
			dst[i] = 0
			continue
		}
		total, weight := sum[i+full+1]-sum[i-full], float64(2*full+1)
		if s.half[i] {
			j := full + 1
			ends := sum[i+j+1] - sum[i+j] + sum[i-j+1] - sum[i-j]
			total, weight = total+ends/2, weight+1
		}
		dst[i] = total / weight
	}
	return dst
}
