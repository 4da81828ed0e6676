package match

import (
	"slices"

	"toneplumb/spectrum"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
)

// LeadLU returns by how many LU a single track comes out of the mix with the settings
// (below 0: goes in), given its power per band as it sits in the mix, see multitrack.CoherentPower:
// by how much its K-weighted power changes through moves and trim, less what is left of a
// change of the mix's.
func LeadLU(mix *measure.Recording, inMix []float64, s *Settings) float64 {
	gain := s.PowerGain()
	k := loudness.Weighting(spectrum.Centres(), float64(mix.Format.RateHz))
	before, after := 0.0, 0.0
	for b, p := range inMix {
		before += k[b] * p
		after += k[b] * p * gain[b]
	}
	unmoved := make([]float64, len(gain))
	for b := range unmoved {
		unmoved[b] = 1
	}
	ofMix := mix.LoudnessThrough(gain) - mix.LoudnessThrough(unmoved)
	return spectrum.PowerToDB(after/before) - ofMix
}

// Lead is what the moves do to a single track of the mix.
type Lead struct {
	Name     string  // in what is written
	ChangeLU float64 // further out of the mix; below 0: further in
}

// SetLead notes what the moves do to a single track. Whoever names one cares for the
// voice: a smaller move where voices are is worth a caution then.
func (r *Result) SetLead(l Lead) {
	r.Lead = &l
	which := voiceMoves(r.Moves, voiceOfLeadDB)
	if which == nil {
		return
	}
	r.Warnings = slices.DeleteFunc(slices.Clone(r.Warnings), func(f Finding) bool { _, is := f.(VoiceMoves); return is }).With(VoiceMoves{which})
}
