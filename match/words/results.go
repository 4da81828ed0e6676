package words

import (
	"fmt"
	"math"
	"strings"

	"toneplumb/biquad"
	"toneplumb/match"
)

// NoMoves returns the sentence that replaces the moves if there are none.
func NoMoves(n match.NoMoves) string {
	apart := fmt.Sprintf("%.1f dB apart", n.ApartDB)
	switch n.Outlook {
	case match.NotAsked:
		return "No moves were asked for."
	case match.Inaudible:
		if n.Curve {
			return fmt.Sprintf("Nothing to do: the curve is level to within %.1f dB.", match.InaudibleDB)
		}
		if n.OwnSong {
			return "Nothing to do: the difference is inaudible. Was one recording given twice?"
		}
		return "Nothing to do: the difference is inaudible."
	case match.NothingToDo:
		if n.Usual {
			return fmt.Sprintf("Nothing to do: the mix already has this tone (%s; finished songs usually differ by more).", apart)
		}
		return fmt.Sprintf("Nothing to do: %s, but none of it is clearly tone rather than arrangement.", apart)
	case match.TooUnlike:
		return fmt.Sprintf("Choose another reference: %s is farther than two songs by one maker usually are.", apart)
	case match.TooLittle:
		return "No moves: less than two octaves can be judged. Widen the range, or take recordings that reach farther up and down."
	case match.TooShort:
		return "No moves: there is too little music to tell tone from chance. Longer recordings may help."
	case match.NoneHelps:
		if n.LeastDB > 0 {
			return fmt.Sprintf("No moves: none with gains of %g dB or more would help (%s).", n.LeastDB, apart)
		}
		if n.OwnSong {
			return fmt.Sprintf("No moves: a few broad moves cannot follow this difference (%s).", apart)
		}
		if n.Own {
			return fmt.Sprintf("No moves: none that your equaliser can make and that shows clearly in the difference would help (%s).", apart)
		}
		return fmt.Sprintf("No moves: no broad move that shows clearly in the difference would help (%s).", apart)
	}
	return "No moves are set."
}

// WhyNoMoves returns [NoMoves] for a result, "" if it has moves.
func WhyNoMoves(r *match.Result) string {
	if len(r.Moves) > 0 {
		return ""
	}
	return NoMoves(r.NoMoves())
}

// Exclusion returns why a band is left out, "" if it is kept: "near or above 16.5 kHz, where the reference stops".
// What is left out begins by a margin before that.
func Exclusion(e match.Exclusion) string {
	who := Side(e.Side)
	switch e.Cause {
	case match.StopsThere:
		return fmt.Sprintf("near or above %s, where %s stops", FormatHz(e.Hz), who)
	case match.FallsOff:
		return fmt.Sprintf("near or above %s, where %s falls off steeply", FormatHz(e.Hz), who)
	case match.NoLows:
		return fmt.Sprintf("near or below %s, where %s has little", FormatHz(e.Hz), who)
	}
	return ExclusionInShort(e)
}

// ExclusionInShort is [Exclusion] beside the frequencies that are left out, where the margin is spoken of.
func ExclusionInShort(e match.Exclusion) string {
	who := Side(e.Side)
	switch e.Cause {
	case match.Kept:
		return ""
	case match.SampleRate:
		return fmt.Sprintf("%s is sampled at %g kHz", who, e.Hz/1000)
	case match.StopsThere:
		return fmt.Sprintf("%s stops at %s", who, FormatHz(e.Hz))
	case match.NoiseFloor:
		return who + " is near its noise floor"
	case match.FallsOff:
		return fmt.Sprintf("%s falls off steeply from %s", who, FormatHz(e.Hz))
	case match.NoLows:
		return fmt.Sprintf("%s has little below %s", who, FormatHz(e.Hz))
	case match.RateOfCurve:
		return fmt.Sprintf("the rate is %g kHz", e.Hz/1000)
	case match.OutsideCurve:
		return "outside the curve"
	}
	return "out of range"
}

// Place returns where a filter works, with its preposition: "below 71 Hz", "around 425 Hz".
func Place(shape biquad.Shape, hz float64) string {
	preposition := "around "
	switch shape {
	case biquad.LowShelf:
		preposition = "below "
	case biquad.HighShelf:
		preposition = "above "
	}
	return preposition + FormatHz(hz)
}

// Why returns the reason for a move, without capital or full stop.
func Why(m match.Move) string {
	w, where := m.Why, Place(m.Shape, m.FreqHz)
	text := ""
	if m.ByHand {
		text = Either(m.OutsideRange(), "set by hand, outside the likely range; ", "set by hand; ")
	}
	switch w.Reason {
	case match.FollowsCurve:
		text += fmt.Sprintf("the curve averages %s dB %s", FormatGain(w.DB), where)
	case match.Off:
		text += fmt.Sprintf("%s %s %s", FormatDifference(w.DB), References(w.References), where)
	case match.OffRest:
		text += fmt.Sprintf("%.1f dB %s %s than elsewhere", math.Abs(w.DB), Either(w.DB > 0, "lighter", "heavier"), where)
	case match.MakesGood:
		text += fmt.Sprintf("%s %.1f dB that the other moves %s %s",
			Either(w.DB > 0, "gives back", "trims back"), math.Abs(w.DB), Either(w.DB > 0, "take", "add"), where)
	case match.WithOthers:
		text += "shapes the curve together with the other moves"
	default:
		text += "brings the whole curve nearer"
	}
	if !math.IsNaN(w.TogetherDB) {
		text += fmt.Sprintf("; all moves together: %s dB there", FormatGain(w.TogetherDB))
	}
	return text
}

// Either returns a if first, else b.
func Either[T any](first bool, a, b T) T {
	if first {
		return a
	}
	return b
}

// SideFindings returns what it means for an equaliser on the master that side and mid are off by
// different amounts: one text for all zones that are off in the same way. Figures are mix less
// reference: positive is too much.
func SideFindings(zones []match.SideVerdict, references int) []string {
	type said struct{ off, meaning string }
	var all []said
	where := map[said][]string{}
	for _, f := range match.SideFindings(zones) {
		off, meaning := sideFinding(f, references)
		s := said{off, meaning}
		if where[s] == nil {
			all = append(all, s)
		}
		where[s] = append(where[s], fmt.Sprintf("%s (side %s%s, mid %s)", sideZones(f.Zones), upDown(f.SideDB), Either(f.Bounded, " or more", ""), upDown(f.MidDB)))
	}
	var texts []string
	for _, s := range all {
		texts = append(texts, fmt.Sprintf("%s: %s. %s", s.off, strings.Join(where[s], "; "), s.meaning))
	}
	return texts
}

// sideFinding returns how side and mid are off, and what that means.
func sideFinding(f match.SideFinding, references int) (off, meaning string) {
	level := Either(f.SideDB+f.MidDB < 0, "Too weak", "Too strong")
	switch f.Kind {
	case match.SideOnly:
		return Either(f.SideDB > 0, "Wider", "Narrower") + " than " + References(references), "That is panning or widening, not equalising."
	case match.MidOnly:
		return level + ", mostly in the centre (mid)", "An ordinary equaliser moves both: listen to the sides as you dial, and stop where they lose."
	case match.Opposite:
		return "Side and mid off in opposite ways", "An ordinary equaliser cannot mend that."
	}
	return level + ", but not equally", "An ordinary equaliser moves both: stop where one of them is right."
}

// sideZones names neighbouring zones: "mids", "highs and air"; more by where they are judged, "178 Hz to 5.62 kHz".
func sideZones(zones []match.SideVerdict) string {
	first, last := zones[0], zones[len(zones)-1]
	switch len(zones) {
	case 1:
		return first.Name
	case 2:
		return first.Name + " and " + last.Name
	}
	return FormatHz(first.JudgedHz[0]) + " to " + FormatHz(last.JudgedHz[1])
}

// upDown writes how far the mix is over (+) or under (−) the reference.
func upDown(db float64) string {
	if match.IsLevel(db) {
		return "the same"
	}
	return FormatGain(db) + " dB"
}

// Lead says how the moves change a single track's level in the mix; dialled: those that it was bounced through.
func Lead(l match.Lead, dialled bool) string {
	when := Either(dialled, "With your moves ", "After the moves ")
	switch lu := l.ChangeLU; {
	case lu >= 0.05:
		return fmt.Sprintf(when+"%s is %.1f LU further out of the mix.", l.Name, lu)
	case lu <= -0.05:
		return fmt.Sprintf(when+"%s is %.1f LU further back in the mix.", l.Name, -lu)
	}
	return fmt.Sprintf(when+"%s is where it was in the mix.", l.Name)
}

// Stage returns what a stage assumes, to follow "in" or a colon.
func Stage(s match.Stage) string {
	if s == match.AsMeasured {
		return "the reference's balance as it is, arrangement and all"
	}
	return fmt.Sprintf("a %s mix (%s)", s, mixIsOff(s))
}

// mixIsOff returns how far off a stage assumes the mix to be, by the largest gain that would mend it.
func mixIsOff(s match.Stage) string {
	if s == match.Finished {
		return "off by less than 5 dB on a dial"
	}
	return "off by 5 dB or more on a dial"
}

// Alternatives says what other choices of stage would do, and how far from the reference the mix would be then.
func Alternatives(all []match.Alternative) string {
	var each []string
	for _, a := range all {
		text := "as measured, arrangement and all: "
		if a.Stage != match.AsMeasured {
			text = fmt.Sprintf("as a %s mix (%s): ", a.Stage, mixIsOff(a.Stage))
		}
		if a.Moves == 0 {
			text += "no moves"
		} else {
			text += fmt.Sprintf("%s %.1f dB, distance then %.1f dB", Plural(a.Moves, "one move of", fmt.Sprintf("%d moves of up to", a.Moves)), a.LargestDB, a.DistanceAfterDB)
		}
		if each != nil {
			text = UpperFirst(text)
		}
		each = append(each, text+".")
	}
	return "Or, " + strings.Join(each, " ")
}

// Places lists where moves work, in one phrase: "around 475 Hz and 3.5 kHz".
func Places(moves []match.Move) string {
	var all []string
	for i, m := range moves {
		if i > 0 && moves[i-1].Shape == m.Shape { // the same preposition
			all = append(all, FormatHz(m.Dial.FreqHz))
		} else {
			all = append(all, Place(m.Shape, m.Dial.FreqHz))
		}
	}
	return List(all)
}
