package spectrum

import (
	"fmt"
	"math"
)

// Smoother averages band values in dB over a fraction of an octave around each
// band. It is linear and does not depend on the values, so a model curve and
// its derivatives can go through the same one as the measured curve.
type Smoother struct {
	full []int  // bands on each side with weight 1; −1: left out
	half []bool // whether the next band on each side has weight 1/2
}

// NewSmoother returns the smoother over octaves (more than 0) for bands of
// which leftOut may not be touched: with n = BandsPerOctave·octaves the weights
// are 1 within ±n/2 bands and 1/2 at ±n/2. Near an end or a left-out band the
// half-width shrinks to what is there on the shorter side, so that every window
// is symmetric and a straight line (in dB over log frequency) passes unchanged.
// It does not change once it is made: goroutines may share it.
//
// Our choice: a flat window with half end weights is the trapezoid rule over
// the fraction; common practice has no standard for smoothing.
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
// it. Both have the length given to NewSmoother, else it panics; dst may be db.
// Left-out bands come back as 0 and their input is never read.
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
