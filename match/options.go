package match

import (
	"fmt"

	"toneplumb/biquad/fit"
)

// CompareOptions say how two recordings are compared.
type CompareOptions struct {
	SmoothOct float64    // smoothing in octaves: 1, 1/2, 1/3, 1/6, 1/12 or 1/24
	RangeHz   [2]float64 // what is judged, inside 20 Hz to 20 kHz and at least an octave
}

// SolveOptions say how far to go and with what.
type SolveOptions struct {
	Stage         Stage         // how far off the mix may be
	MaxMoves      int           // at most, 0 to 8
	TowardPercent float64       // of the way to the reference, 0 or 1 to 100
	Equaliser     fit.Equaliser // what can be dialled
	ExactMoves    bool          // MaxMoves moves, not as many as are enough
	Continuous    bool          // anything between the steps of the dials
}

// DefaultCompare returns third-octave smoothing, judged from 40 Hz to 16 kHz: a
// fraction near the ear's own bandwidth (common practice, no source), and a range
// that most rooms and lossy recordings hold.
func DefaultCompare() CompareOptions {
	return CompareOptions{SmoothOct: 1.0 / 3, RangeHz: [2]float64{40, 16000}}
}

// DefaultSolve returns at most four moves, 60 % of the way, on the default
// equaliser. Our choice: a single reference is mostly arrangement, and two
// songs by one maker usually differ by 3 to 6 dB.
func DefaultSolve() SolveOptions {
	return SolveOptions{MaxMoves: 4, TowardPercent: defaultTowardPercent, Equaliser: fit.Default()}
}

const defaultTowardPercent = 60.0

// MaxMoves is the largest number of moves offered. Our choice: more is no longer
// broad.
const MaxMoves = 8

// Check says in one line which option is out of range, nil if none is.
func (o CompareOptions) Check() error {
	smooth := false
	for _, n := range []float64{1, 2, 3, 6, 12, 24} {
		smooth = smooth || o.SmoothOct == 1/n
	}
	if !smooth {
		return fmt.Errorf("smoothing must be 1/1, 1/2, 1/3, 1/6, 1/12 or 1/24 octave")
	}
	low, high := o.RangeHz[0], o.RangeHz[1]
	if !(low >= 20 && high <= 20000 && high >= 2*low) {
		return fmt.Errorf("the range must lie within 20 Hz to 20 kHz and span an octave at least")
	}
	return nil
}

// Check says in one line which option is out of range, nil if none is.
func (o SolveOptions) Check() error {
	if o.MaxMoves < 0 || o.MaxMoves > MaxMoves {
		return fmt.Errorf("the number of moves must be 0 to %d", MaxMoves)
	}
	if p := o.TowardPercent; !(p == 0 || p >= 1 && p <= 100) {
		return fmt.Errorf("how far towards the reference must be 0 or 1 to 100 percent")
	}
	return nil
}
