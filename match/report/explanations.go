package report

import (
	"math"
	"strings"

	"toneplumb/match"
	"toneplumb/match/words"
)

// Sentences are the sentences that stand under the moves: the distance, how sure it is,
// what was confirmed, what was judged and left out, and copies.
func Sentences(r *match.Result) []string {
	var all []string
	parts := []string{apart(r), hint(r), OtherChoice(r), measuredTo(r), confirmed(r)}
	if r.Lead != nil {
		parts = append(parts, words.Lead(*r.Lead))
	}
	parts = append(parts, judged(r), leftOut(r), copies(r))
	parts = append(parts, words.SideFindings(r.Sides, len(r.References))...)
	for _, s := range parts {
		if s = strings.TrimSpace(s); s != "" {
			all = append(all, s)
		}
	}
	return all
}

// Interval is between which gains a move lies, as "+0.4 to +3.6", one figure where both
// ends read the same, "" where that is not known.
func Interval(m match.Move) string {
	low, high := words.FormatGain(m.GainLowDB), words.FormatGain(m.GainHighDB)
	switch {
	case math.IsNaN(m.GainLowDB):
		return ""
	case low == high:
		return low
	}
	return low + " to " + high
}

// hint says how little one other song tells, "" where that changes nothing. Measured: of
// a fault of 4 dB rms, one song by the same maker leaves 2.9 dB, three leave 2.75; see
// match/testdata/advice.md.
func hint(r *match.Result) string {
	if r.Mix == nil || len(r.References) > 1 || oneSong(r) || len(r.Moves) == 0 {
		return ""
	}
	return "A hint: with one reference a difference may just be its arrangement. Add two more by this maker."
}
