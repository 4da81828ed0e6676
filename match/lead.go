package match

import "toneplumb/spectrum/measure"

// LeadLU returns by how many LU a single track of the mix, such as the voice, comes
// out of the mix with the settings (below 0: goes in): by how much its loudness
// changes through moves and trim, less the same of the mix.
//
// The track is the signal as it enters the bus; effects that the mix adds to it on the
// way are not in it. Both changes are predicted from the tables, see
// measure.Recording.LoudnessThrough. What share of the mix the track is in each zone is
// another question, which this does not answer.
func LeadLU(mix, track *measure.Recording, s *Settings) float64 {
	gain := s.PowerGain()
	change := func(r *measure.Recording) float64 {
		flat := make([]float64, len(gain))
		for b := range flat {
			flat[b] = 1
		}
		return r.LoudnessThrough(gain) - r.LoudnessThrough(flat)
	}
	return change(track) - change(mix)
}
