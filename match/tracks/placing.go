package tracks

import (
	"slices"

	"toneplumb/biquad"
)

// Placing is a small move that brings a track forward or lets it step back.
type Placing struct {
	Track  int
	Front  bool
	Filter biquad.Filter
	TrimDB float64 // keeps the track's own loudness
	MixDB  float64 // what it does to the mix at the filter's frequency
}

// placings returns a move for each track that was named: more or less between 2 and 8
// kHz. Common practice, no source; its size is our choice, half of what a pair is cut by.
func (s *session) placings(o Options) []Placing {
	const gainDB, freqHz, q = 1.5, 4000, 0.7
	var all []Placing
	for i, t := range s.tracks {
		front, back := slices.Contains(o.Front, i), slices.Contains(o.Back, i)
		if t.state != Heard || !front && !back || freqHz > 0.45*s.RateHz {
			continue
		}
		f := biquad.Filter{Shape: biquad.Bell, FreqHz: freqHz, GainDB: gainDB, Q: q}
		if back {
			f.GainDB = -gainDB
		}
		all = append(all, Placing{Track: i, Front: front, Filter: f, TrimDB: -s.loudnessChange(t, []biquad.Filter{f}),
			MixDB: s.effect([]*track{t}, []biquad.Filter{f})[BandOf(freqHz)]})
	}
	return all
}
