package report

import (
	"fmt"
	"math"
	"strings"

	"toneplumb/match"
	"toneplumb/match/words"
)

// Sentences returns the sentences below the moves: the distance, how sure it is, what was
// confirmed, what was judged and left out, which references are copies, and side and mid.
func Sentences(r *match.Result) []string {
	var all []string
	parts := []string{apart(r), hint(r), OtherChoice(r), ranges(r), measuredTo(r), confirmed(r)}
	if r.Lead != nil {
		parts = append(parts, words.Lead(*r.Lead))
	}
	parts = append(parts, judged(r), leftOut(r), copies(r.Comparison))
	parts = append(parts, words.SideFindings(r.Sides, len(r.References))...)
	for _, s := range parts {
		if s = strings.TrimSpace(s); s != "" {
			all = append(all, s)
		}
	}
	return all
}

// ifTone heads the likely ranges of the moves' gains. They follow the whole difference, while the
// gains follow the part of it that is clearly tonal. So a gain may lie at the near end of its range.
const ifTone = "if all is tone"

// ranges explains what is headed [ifTone], "" if nothing is.
func ranges(r *match.Result) string {
	if r.Mix == nil || !hasIntervals(r) {
		return ""
	}
	text := fmt.Sprintf("If all is tone: the gain that %.0f %% of the difference there would take (likely range, 95 %%).", r.SolveOptions.TowardPercent)
	if oneSong(r) || r.SolveOptions.Stage == match.AsMeasured {
		return text
	}
	return text + " The move takes less where part of it may be arrangement."
}

// Interval returns the likely range of a move's gain, as "+0.4 to +3.6"; one figure if both
// ends read the same, "" if it is unknown.
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

// hint warns that one other song says little, "" if that does not apply. Measured: of a fault of
// 4 dB rms, one song by the same maker leaves 2.9 dB, three leave 2.75; see
// match/testdata/advice.md.
func hint(r *match.Result) string {
	if r.Mix == nil || len(r.References) > 1 || oneSong(r) || len(r.Moves) == 0 {
		return ""
	}
	return "A hint: with one reference a difference may just be its arrangement. Add two more by this maker."
}
