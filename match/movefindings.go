package match

import (
	"math"

	"toneplumb/biquad"
)

// findings are all that a result gives reason to say.
func (r *Result) findings() Findings {
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

func (WiderApart) Code() string       { return "wider-apart" }
func (WiderApart) Severity() Severity { return Warning }

// LargeMoves: these moves, from 1, are more than a master bus usually takes.
type LargeMoves struct{ Moves []int }

func (LargeMoves) Code() string       { return "large-moves" }
func (LargeMoves) Severity() Severity { return Caution }

// VoiceMoves: these moves, from 1, move a voice too, if there is one.
type VoiceMoves struct{ Moves []int }

func (VoiceMoves) Code() string       { return "voice-moves" }
func (VoiceMoves) Severity() Severity { return Caution }

// TopMoves: these moves, from 1, are where equalisers differ.
type TopMoves struct{ Moves []int }

func (TopMoves) Code() string       { return "top-moves" }
func (TopMoves) Severity() Severity { return Info }

// Limits of single moves. Common practice, no source, from memory.
const (
	largeDB                  = 3
	voiceFromHz, voiceUpToHz = 1000, 5000
	voiceDB, voiceOfLeadDB   = 2, 1 // the lower where a track is named whose place counts
	topHz                    = 8000
)

// moveFindings are what to watch of the moves alone.
func moveFindings(moves []Move) Findings {
	var all Findings
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
