package report

import (
	"fmt"
	"strings"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/words"
)

// Headline says in one line what to do and how far it goes.
func Headline(r *match.Result) string {
	if len(r.Moves) == 0 {
		return r.WhyNoMoves()
	}
	what := upperFirst(strings.Join(todo(r), ", "))
	if r.Mix == nil {
		return fmt.Sprintf("%s: %.1f → %.1f dB from the curve.", what, r.DistanceBeforeDB, r.DistanceAfterDB)
	}
	return fmt.Sprintf("%s: %.1f → %.1f dB from %s.", what, r.DistanceBeforeDB, r.DistanceAfterDB, references(r))
}

// todo lists the moves by what they do: "cut around 475 Hz and 3.5 kHz", "lift below 71 Hz".
func todo(r *match.Result) []string {
	var cuts, lifts []string
	for _, m := range r.Moves {
		if m.GainDB < 0 {
			cuts = append(cuts, where(m))
		} else {
			lifts = append(lifts, where(m))
		}
	}
	var all []string
	for _, part := range []struct {
		verb   string
		places []string
	}{{"cut", cuts}, {"lift", lifts}} {
		if len(part.places) > 0 {
			all = append(all, part.verb+" "+words.List(withoutRepeats(part.places)))
		}
	}
	return all
}

// where is the place of a move, with its preposition.
func where(m match.Move) string {
	switch m.Shape {
	case biquad.LowShelf:
		return "below " + words.FormatHz(m.Dial.FreqHz)
	case biquad.HighShelf:
		return "above " + words.FormatHz(m.Dial.FreqHz)
	}
	return "around " + words.FormatHz(m.Dial.FreqHz)
}

// withoutRepeats drops a preposition that is the one before: "around 475 Hz", "3.5 kHz".
func withoutRepeats(places []string) []string {
	last := ""
	var all []string
	for _, p := range places {
		word, rest, _ := strings.Cut(p, " ")
		if word == last {
			p = rest
		}
		last = word
		all = append(all, p)
	}
	return all
}

// steps says how near fewer moves would come, "" of one move.
func steps(r *match.Result) string {
	if len(r.StepsDB) < 2 {
		return ""
	}
	var parts []string
	for i, db := range r.StepsDB {
		unit := ""
		if i == 0 {
			unit = " move"
		}
		parts = append(parts, fmt.Sprintf("%d%s: %.1f dB", i+1, unit, db))
	}
	return "Distance after " + strings.Join(parts, ", ") + "."
}

// otherChoice says what another choice of stage would do, "" if it was not asked or
// differs in nothing.
func otherChoice(r *match.Result) string {
	o := r.Other
	if o == nil || o.Moves == 0 && len(r.Moves) == 0 {
		return ""
	}
	choice := "As measured (arrangement and all)"
	if o.Stage != match.AsMeasured {
		choice = "Taken as a " + o.Stage.String() + " mix (" + meaning(o.Stage) + ")"
	}
	if o.Moves == 0 {
		return choice + ": no moves."
	}
	return fmt.Sprintf("%s: %s of up to %.1f dB, %.1f → %.1f dB.", choice, strings.ToLower(moveCount(o.Moves)), o.LargestDB, r.DistanceBeforeDB, o.DistanceAfterDB)
}

// meaning is what a stage assumes.
func meaning(s match.Stage) string {
	switch s {
	case match.AsMeasured:
		return "the reference's balance as it is, arrangement and all"
	case match.Finished:
		return "a mix under 2 dB off"
	}
	return "a mix 2 to 6 dB off"
}
