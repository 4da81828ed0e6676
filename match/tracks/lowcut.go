package tracks

import (
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/spectrum"
)

const (
	// ownBelow is the share of its own energy that a track may lose to a low cut. Our choice: 1 % is
	// 0.04 dB of its power, far less than any fader step.
	ownBelow = 0.01
	// lowEndHz is the upper end of the mix's low end: the zones sub and lows.
	lowEndHz = 177.8
	// worthCutShare is the share of the mix's power below the cut that a track must add to be worth
	// cutting. Our choice: a tenth of a decibel, 2.3 %.
	worthCutShare = 0.023
	// ownsShare of that power makes the track the low end itself: no cut is advised. Our choice:
	// half.
	ownsShare = 0.5
	// Cuts are advised from lowCutFromHz to lowCutToHz. Our choice: below, there is little to clean;
	// above, a cut is a matter of tone.
	lowCutFromHz, lowCutToHz = 30, 400
)

// LowCut is a track with energy in the mix's low end that it does not need.
type LowCut struct {
	Track    int
	Filter   biquad.Filter // 12 dB per octave
	OwnShare float64       // share of the track's own energy below the frequency, under 0.01
	MixShare float64       // share of the mix's power below the frequency, counted up to 177.8 Hz
	TrackLU  float64       // change of the track's own loudness
}

// lowCuts returns a cut for each track that needs one, in the order of the tracks. There are none if the plan
// reaches a trusted mix of the same song: each cut would lead away from it.
func (s *session) lowCuts(plan *Plan) []LowCut {
	if plan.Reaches() {
		return nil
	}
	var all []LowCut
	freqs := fit.Default().Bell.FreqHz.Values
	for i, t := range s.tracks {
		if t.state != Heard {
			continue
		}
		total := floats.Sum(t.power)
		below, edge, share := 0.0, 0.0, 0.0
		for b, p := range t.power {
			if below += p; below >= ownBelow*total || spectrum.EdgeHz(b+1) > lowCutToHz {
				break
			}
			edge, share = spectrum.EdgeHz(b+1), below/total
		}
		at, exact := slices.BinarySearch(freqs, edge)
		if !exact {
			at--
		}
		if at < 0 || freqs[at] < lowCutFromHz {
			continue
		}
		hz := freqs[at]
		own, mix := 0.0, 0.0
		for b := range t.power {
			if spectrum.EdgeHz(b+1) <= min(hz, lowEndHz) {
				own, mix = own+t.re[b], mix+s.MixPower[b]
			}
		}
		if mix <= 0 || own < worthCutShare*mix || own > ownsShare*mix {
			continue
		}
		f := biquad.Filter{Shape: biquad.LowCut, FreqHz: hz, CutDBPerOct: 12}
		all = append(all, LowCut{Track: i, Filter: f, OwnShare: share, MixShare: own / mix, TrackLU: s.loudnessChange(t, []biquad.Filter{f})})
	}
	return all
}
