package match

import (
	"fmt"
	"math"
	"toneplumb/match/uncertainty"
)

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
