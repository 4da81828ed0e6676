package match

import (
	"fmt"
	"math"

	"toneplumb/biquad/fit"
	"toneplumb/match/uncertainty"
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

// Stage says how far off a mix may be, which only the person at the desk knows: one
// other song cannot tell a fault of tone from its arrangement.
type Stage uint8

const (
	Rough      Stage = iota // the start of a mix: faults of 2 to 6 dB
	Finished                // a finished mix: faults under 2 dB
	AsMeasured              // follow the reference as it is, arrangement and all
)

var stageNames = [...]string{"rough", "finished", "as measured"}

func (s Stage) String() string { return stageNames[s] }

// ParseStage reads the name of a stage. The error lists them.
func ParseStage(name string) (Stage, error) {
	for s, known := range stageNames {
		if name == known {
			return Stage(s), nil
		}
	}
	return 0, fmt.Errorf("there is no stage %q; there are rough, finished and as measured", name)
}

// faultDB is the prior size of a fault of tone, by stage: the standard deviation of a
// band. Chosen on nine of sixteen packages of songs, see testdata/README.md: filters of
// 2 dB rms beside one song of the same maker for the one, of 4 and 6 dB for the other.
func (s Stage) faultDB() float64 {
	if s == Finished {
		return 2
	}
	return 6
}

// prior returns what is assumed of the tone difference. To follow a reference as it is, any
// difference is tone down to the smoothing's own width.
func (s Stage) prior(distanceDB float64) uncertainty.TonePrior {
	if s == AsMeasured {
		return uncertainty.Exact(max(2, distanceDB), AdviceSmoothOct)
	}
	return uncertainty.Songs(s.faultDB())
}

// farthestDB is the distance beyond which a reference is too unlike to advise
// anything. 9 of 10 pairs of songs by one maker lie within 7.8 dB, 19 of 20 within 9.7; a
// rough mix may be 6 dB off besides (√(9.7² + 6²)). To refuse rough mixes beyond 9.8 dB
// left more of every fault and harmed no fewer beside songs of another kind.
func (s Stage) farthestDB() float64 {
	if s == Finished {
		return 7.8
	}
	return 11.4
}

// Alternative is what the moves would be had another stage been chosen: as measured, or
// rough where the reference is followed as measured.
type Alternative struct {
	Stage           Stage
	Outlook         Outlook
	Moves           int
	LargestDB       float64 // of the gains, without sign
	DistanceAfterDB float64
}

// SetOther works out what the other choice would do. It takes as long as the moves did.
func (r *Result) SetOther() {
	o := r.SolveOptions
	if o.Stage = AsMeasured; r.SolveOptions.Stage == AsMeasured {
		o.Stage = Rough
	}
	other := r.Comparison.Solve(o)
	r.Other = &Alternative{Stage: o.Stage, Outlook: other.Outlook, Moves: len(other.Moves), DistanceAfterDB: other.DistanceAfterDB}
	for _, m := range other.Moves {
		r.Other.LargestDB = max(r.Other.LargestDB, math.Abs(m.GainDB))
	}
}
