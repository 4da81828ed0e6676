package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/spectrum/finding"
)

// Doubted returns a sentence on what to do, or on how a mix is, under the condition that findings put in doubt: that
// the mix was bounced through the moves of an earlier round, or that its references are the right ones.
func Doubted(sentence string, findings finding.List) string {
	_, of := doubt(findings)
	switch of.(type) {
	case match.NoTrace:
		return doubtAlone(findings)[0] + " " + sentence
	case match.FarApart:
		return doubtAlone(findings)[0] + " If it is: " + lowerFirst(sentence)
	}
	return sentence
}

// doubtAlone returns the condition of [Doubted] in one text, none without a doubt.
func doubtAlone(findings finding.List) []string {
	_, of := doubt(findings)
	switch f := of.(type) {
	case match.NoTrace:
		return []string{"Was the equaliser on at the bounce? The mix shows no trace of it, and what follows holds only if it was."}
	case match.FarApart:
		return []string{fmt.Sprintf("%.1f dB apart: unless the mix itself is that far off, choose %s.", f.ApartDB,
			words.Plural(f.References, "another reference", "other references"))}
	}
	return nil
}

// doubt returns the first finding that [Doubted] speaks of, and its index; nil if there is none.
func doubt(findings finding.List) (index int, of finding.Finding) {
	for i, f := range findings {
		switch f.(type) {
		case match.NoTrace, match.FarApart:
			return i, f
		}
	}
	return -1, nil
}

// Remarks returns the findings in words, to stand below a headline: what that says already is left out.
func Remarks(findings finding.List) []string {
	i, of := doubt(findings)
	if far, is := of.(match.FarApart); is {
		far.Headed = true
		findings = slices.Clone(findings)
		findings[i] = far
	}
	return words.Findings(findings)
}

// Headline returns one line that says what to do and how far it goes.
func Headline(r *match.Result) string { return Doubted(advice(r, rest(r)), r.Warnings) }

// shorterHeadlines returns [Headline] in fewer and fewer words.
func shorterHeadlines(r *match.Result) []string {
	return append([]string{Doubted(advice(r, ""), r.Warnings)}, doubtAlone(r.Warnings)...)
}

// advice says what to do, then what becomes of the rest, then how far it goes.
func advice(r *match.Result, rest string) string {
	if p, _ := previous(r); held(r) {
		return fmt.Sprintf("Your dialled moves still hold: change nothing. %.1f dB now (%.1f without them).", p.DistanceDB, r.DistanceBeforeDB)
	}
	if len(r.Moves) == 0 {
		return words.WhyNoMoves(r)
	}
	what := strings.Join(todo(r), ", ") + rest
	if r.Own {
		what = "your moves: " + what
	}
	what = words.UpperFirst(what)
	if r.Mix == nil {
		return fmt.Sprintf("%s: %.1f → %.1f dB from the curve.", what, r.DistanceBeforeDB, r.DistanceAfterDB)
	}
	return fmt.Sprintf("%s: %.1f → %.1f dB from %s.", what, r.DistanceBeforeDB, r.DistanceAfterDB, words.References(len(r.References)))
}

// todo returns what the moves do, cuts first: "cut around 475 Hz and 3.5 kHz", "lift below 71 Hz".
func todo(r *match.Result) []string {
	var cuts, lifts []match.Move
	for _, m := range r.Moves {
		if m.GainDB < 0 {
			cuts = append(cuts, m)
		} else {
			lifts = append(lifts, m)
		}
	}
	var all []string
	if cuts != nil {
		all = append(all, "cut "+words.Places(cuts))
	}
	if lifts != nil {
		all = append(all, "lift "+words.Places(lifts))
	}
	return all
}

// rest says what moves do to the rest, as long as that is at most half of what is judged: level is ignored, so it goes
// the other way. It knows one shelf, and a low and a high shelf that go the same way; "" for other moves.
func rest(r *match.Result) string {
	if r.Mix == nil || len(r.Moves) == 0 || len(r.Moves) > 2 {
		return ""
	}
	from, to := r.JudgedHz()
	low, high := r.Moves[0], r.Moves[len(r.Moves)-1]
	if low.Shape == biquad.HighShelf {
		low, high = high, low
	}
	where, lowHz, highHz := "between", low.FreqHz, high.FreqHz
	switch {
	case len(r.Moves) == 1 && low.Shape == biquad.LowShelf:
		where, highHz = "above", to
	case len(r.Moves) == 1 && low.Shape == biquad.HighShelf:
		where, lowHz = "below", from
	case len(r.Moves) == 1 || low.Shape != biquad.LowShelf || high.Shape != biquad.HighShelf || low.GainDB*high.GainDB <= 0:
		return ""
	}
	const slack = 0.01 // of an octave: 800 Hz is the middle of 40 Hz to 16 kHz
	if lowHz >= highHz || math.Log2(highHz/lowHz) > math.Log2(to/from)/2+slack {
		return ""
	}
	return fmt.Sprintf(", which %s what is %s", words.Either(low.GainDB < 0, "lifts", "cuts"), where)
}

// steps says how near fewer moves would come, "" for one move.
func steps(r *match.Result) string {
	if len(r.StepsDB) < 2 {
		return ""
	}
	numbers := [match.MaxMoves]string{"one", "two", "three", "four", "five", "six", "seven", "eight"}
	last := len(r.StepsDB) - 1
	text := fmt.Sprintf("One move, set for itself, would leave %.1f dB", r.StepsDB[0])
	for i, db := range r.StepsDB[1:last] {
		text += fmt.Sprintf(", %s %.1f", numbers[i+1], db)
	}
	return fmt.Sprintf("%s; these %s leave %.1f dB.", text, numbers[last], r.StepsDB[last])
}

// OtherChoices says what the other stages would do, "" if it was not computed or no stage has
// moves.
func OtherChoices(r *match.Result) string {
	some := func(a match.Alternative) bool { return a.Moves > 0 }
	if held(r) || len(r.Others) == 0 || len(r.Moves) == 0 && !slices.ContainsFunc(r.Others, some) {
		return ""
	}
	return words.Alternatives(r.Others)
}
