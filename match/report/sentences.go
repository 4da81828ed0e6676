package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/spectrum/finding"
)

// apart completes the headline: how near fewer moves would come, or how far apart the sides
// are if there are no moves.
func apart(r *match.Result) string {
	switch {
	case len(r.Moves) > 0:
		return steps(r)
	case r.Mix == nil:
		return fmt.Sprintf("%.2f dB from level.", r.DistanceBeforeDB)
	}
	return fmt.Sprintf("%.2f dB from %s (ignoring level).", r.DistanceBeforeDB, words.References(len(r.References)))
}

// confirmed returns what was measured of the mix through the moves, "" if it was not read
// again.
func confirmed(r *match.Result) string {
	c := r.Confirmed
	if c == nil {
		return ""
	}
	return fmt.Sprintf("Measured through moves and trim: %s LUFS (was %s), true peak %s dBTP.",
		Level(c.LoudnessAfterLUFS, 1), Level(c.LoudnessBeforeLUFS, 1), words.FormatGain(c.TruePeakDBTP))
}

// otherSongs is what to compare a difference between songs with. Measured by TestApart on 770
// pairs of songs by one maker, each maker counting alike: quartiles 3.3 and 5.5 dB, see
// match/testdata/README.md, "How far apart songs are".
const otherSongs = "two songs by one maker usually differ by 3 to 6 dB"

// measurement returns how sure the difference is: "±0.4 dB (95 %)".
func measurement(r *match.Result) string {
	half := fmt.Sprintf("±%.1f dB", r.ConfidenceDB)
	if r.ConfidenceDB < 0.05 {
		half = "within ±0.1 dB"
	}
	return half + " (95 %)"
}

// oneSong reports whether all references are copies of the mix's song.
func oneSong(r *match.Result) bool {
	return len(r.SameSong) > 0 && !slices.Contains(r.SameSong, false)
}

// spreadDB returns half the band of other references like these, as the root mean square over
// bands; NaN for one reference.
func spreadDB(r *match.Result) float64 {
	sum, n := 0.0, 0.0
	for _, half := range r.ReferenceSpreadDB {
		if !math.IsNaN(half) {
			sum, n = sum+half*half, n+1
		}
	}
	return math.Sqrt(sum / n) // 0/0 is NaN
}

// measuredTo says how sure the difference is and how much other songs differ.
func measuredTo(r *match.Result) string {
	if r.Mix == nil {
		return ""
	}
	text := "Measured to " + measurement(r)
	if spread := spreadDB(r); !math.IsNaN(spread) {
		text += fmt.Sprintf("; the mean of other references like these would lie within ±%.1f dB", spread)
	}
	if oneSong(r) {
		return text + "."
	}
	return text + "; " + otherSongs + "."
}

// judged says which range was judged, and why no more: beside its ends, or in a list with other parts that
// are left out. A low-pass that a finding is about needs no reason here.
func judged(r *match.Result) string {
	low, high := r.JudgedHz()
	from, to := words.FormatHz(low), words.FormatHz(high)
	if r.Mix == nil {
		return fmt.Sprintf("Fitted from %s to %s for a rate of %g kHz.", from, to, r.RateHz/1000)
	}
	atLow, atHigh := "", ""
	var others []string
	said := slices.ContainsFunc(r.Warnings, func(f finding.Finding) bool { _, is := f.(match.LowPass); return is })
	for _, s := range r.LeftOutSpans() {
		first, last := max(s.LowHz, r.Options.RangeHz[0]), min(s.HighHz, r.Options.RangeHz[1])
		why := " (" + words.ExclusionInShort(s.Why) + ")"
		switch start, end := words.FormatHz(first), words.FormatHz(last); {
		case last < first*1.03, s.Why.Cause == match.StopsThere && said: // less than a band
		case first == r.Options.RangeHz[0] && end == from:
			atLow = why
		case last == r.Options.RangeHz[1] && start == to:
			atHigh = why
		case first == r.Options.RangeHz[0]:
			others = append(others, "below "+end+why)
		case last == r.Options.RangeHz[1]:
			others = append(others, "above "+start+why)
		default:
			others = append(others, start+" to "+end+why)
		}
	}
	text := "Judged from " + from + atLow + " to " + to + atHigh
	if r.Options.SmoothOct != match.AdviceSmoothOct {
		text += fmt.Sprintf("; drawn in 1/%.0f octaves, judged in third octaves all the same", 1/r.Options.SmoothOct)
	}
	if len(others) > 0 {
		text += ". Left out, with a margin: " + strings.Join(others, ", ")
	}
	return text + "."
}

// aims says what the moves aim for, and what their table shows; "" without moves.
func aims(r *match.Result) string {
	if r.Mix == nil || len(r.Moves) == 0 {
		return ""
	}
	if held(r) {
		return columns(r)
	}
	what := "what is clearly tonal, in " + words.Stage(r.SolveOptions.Stage)
	switch {
	case oneSong(r):
		what = "the difference"
	case r.SolveOptions.Stage == match.AsMeasured:
		what = "the difference as measured"
	}
	text := fmt.Sprintf("Aims for %.0f %% of %s", r.SolveOptions.TowardPercent, what)
	if least := r.SolveOptions.LeastDB; least > 0 {
		text += fmt.Sprintf(", by moves of %g dB and more", least)
	}
	if oneSong(r) && r.SolveOptions.TowardPercent < 100 {
		text += ". Go 100 % toward the reference to follow all of it"
	}
	return text + ". " + columns(r)
}

// copies says which references are the mix's own song, "" if none is.
func copies(r *match.Comparison) string {
	var which []match.Side
	for i, same := range r.SameSong {
		if same {
			which = append(which, match.Side{Number: i + 1, Of: len(r.SameSong)})
		}
	}
	switch n := len(which); n {
	case 0:
		return ""
	case len(r.SameSong):
		return fmt.Sprintf("Same song in %s: the difference is balance or processing, not arrangement.", words.Plural(n, "both", "all"))
	default:
		return words.UpperFirst(words.Sides(which)) + words.Plural(n, " is", " are") + " the mix's own song."
	}
}

// unanswered says why the largest gap gets no move, "" if one deals with it or there are none.
func unanswered(r *match.Result) string {
	gap := r.Gap()
	if gap == nil || len(r.Moves) == 0 || r.Own || held(r) || gap.Cause.Closed() {
		return ""
	}
	return words.GapSentence(*gap)
}

// Sentences returns the sentences below the moves: the distance, how sure it is, what the moves aim
// for, what was confirmed, what was judged and left out, which references are copies, and side and mid.
func Sentences(r *match.Result) []string {
	var all []string
	parts := []string{apart(r), unanswered(r), measuredTo(r), hint(r), OtherChoices(r), aims(r), confirmed(r)}
	if r.Lead != nil {
		parts = append(parts, words.Lead(*r.Lead, held(r)))
	}
	sides := strings.Join(words.SideFindings(r.Sides, len(r.References)), " ")
	if _, is := previous(r); is && sides != "" {
		sides = "Without your moves: " + lowerFirst(sides)
	}
	parts = append(parts, judged(r), copies(r.Comparison), sides)
	for _, s := range parts {
		if s = strings.TrimSpace(s); s != "" {
			all = append(all, s)
		}
	}
	return all
}

// followsAll reports whether no part of the difference is taken for arrangement.
func followsAll(r *match.Result) bool {
	return oneSong(r) || r.SolveOptions.Stage == match.AsMeasured
}

// averages says what the figures in the reasons are, since a reader looks for them on the curves; "" if there are none.
func averages(r *match.Result) string {
	if r.Mix == nil || !slices.ContainsFunc(r.Moves, func(m match.Move) bool { return m.Why.DB != 0 }) {
		return ""
	}
	return "Why: averages over a move's width."
}

// columns says what the columns of reasons and ranges are.
func columns(r *match.Result) string { return strings.TrimSpace(averages(r) + " " + rangesInShort(r)) }

// ifAllTone heads the likely ranges of the moves' gains. They follow the whole difference, while
// the gains follow the part of it that is clearly tonal. So a gain may lie at the end of its range.
const ifAllTone = "gain if all tone"

// rangesInShort says what is headed [ifAllTone], "" if nothing is.
func rangesInShort(r *match.Result) string {
	if r.Mix == nil || !hasIntervals(r) {
		return ""
	}
	if followsAll(r) {
		return "Gain if all tone (likely range, 95 %): all counts as tone here, so it only says how sure the gain is."
	}
	of := "" // the ranges follow the same share as the moves
	if share := r.SolveOptions.TowardPercent; share != 100 {
		of = fmt.Sprintf(", for %.0f %% of the way", share)
	}
	return "Gain if all tone (likely range, 95 %" + of + "): set all moves to its middle if the arrangements sound alike."
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
	return "One reference may just show its arrangement: add two more by this maker."
}
