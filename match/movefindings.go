package match

import (
	"math"
	"slices"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/spectrum"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
)

// findings are all that a result gives reason to say.
func (r *Result) findings() finding.List {
	all := r.Comparison.findings()
	// Both distances are written with two decimals. The target sees what stands out of
	// arrangement as broad trends, the distance every band alike: they can part.
	if after, before := math.Round(100*r.DistanceAfterDB), math.Round(100*r.DistanceBeforeDB); len(r.Moves) > 0 && after > before {
		all = append(all, WiderApart{r.DistanceBeforeDB, r.DistanceAfterDB, len(r.References)})
	}
	return all.With(moveFindings(r.Moves)...)
}

// WiderApart: the moves leave the mix farther from the references than it was.
type WiderApart struct {
	BeforeDB, AfterDB float64
	References        int
}

func (WiderApart) Code() string               { return "wider-apart" }
func (WiderApart) Severity() finding.Severity { return finding.Warning }

// LargeMoves: these moves, from 1, are more than a master bus usually takes.
type LargeMoves struct{ Moves []int }

func (LargeMoves) Code() string               { return "large-moves" }
func (LargeMoves) Severity() finding.Severity { return finding.Caution }

// VoiceMoves: these moves, from 1, move a voice too, if there is one.
type VoiceMoves struct{ Moves []int }

func (VoiceMoves) Code() string               { return "voice-moves" }
func (VoiceMoves) Severity() finding.Severity { return finding.Caution }

// TopMoves: these moves, from 1, are where equalisers differ.
type TopMoves struct{ Moves []int }

func (TopMoves) Code() string               { return "top-moves" }
func (TopMoves) Severity() finding.Severity { return finding.Info }

// Limits of single moves. Common practice, no source, from memory; 3 dB is often said to
// be the most of a master bus, but 15 of 20 pairs of songs had such a move, which says
// nothing any more, and 7 one over largeDB.
const (
	largeDB                  = 4.5
	voiceFromHz, voiceUpToHz = 1000, 5000
	voiceDB, voiceOfLeadDB   = 2, 1 // the lower where a track is named whose place counts
	topHz                    = 8000
)

// moveFindings are what to watch of the moves alone.
func moveFindings(moves []Move) finding.List {
	var all finding.List
	if which := someMoves(moves, func(f biquad.Filter) bool { return math.Abs(f.GainDB) > largeDB }); which != nil {
		all = append(all, LargeMoves{which})
	}
	if which := voiceMoves(moves, voiceDB); which != nil {
		all = append(all, VoiceMoves{which})
	}
	if which := someMoves(moves, func(f biquad.Filter) bool { return f.FreqHz > topHz }); which != nil {
		all = append(all, TopMoves{which})
	}
	return all
}

// voiceMoves are the moves of that gain or more where voices are.
func voiceMoves(moves []Move, leastDB float64) []int {
	return someMoves(moves, func(f biquad.Filter) bool {
		return math.Abs(f.GainDB) >= leastDB && f.FreqHz >= voiceFromHz && f.FreqHz <= voiceUpToHz
	})
}

// someMoves are the numbers, from 1, of those moves that are so.
func someMoves(moves []Move, is func(f biquad.Filter) bool) []int {
	var which []int
	for i, m := range moves {
		if is(m.Filter) {
			which = append(which, i+1)
		}
	}
	return which
}

// LeadLU returns by how many LU a single track comes out of the mix with the settings
// (below 0: goes in), given its power per band as it sits in the mix, see multitrack.CoherentPower:
// by how much its K-weighted power changes through moves and trim, less what is left of a
// change of the mix's.
func LeadLU(mix *measure.Recording, inMix []float64, s *document.Settings) float64 {
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
	r.Warnings = slices.DeleteFunc(slices.Clone(r.Warnings), func(f finding.Finding) bool { _, is := f.(VoiceMoves); return is }).With(VoiceMoves{which})
}
