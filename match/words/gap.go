package words

import (
	"fmt"

	"toneplumb/match"
)

// Gap says how far off the farthest zone is, and what becomes of it: "sub 7.0 dB over: no
// move, since its likely range (±8.1 dB) reaches level".
func Gap(g match.Gap) string {
	text := fmt.Sprintf("%s %s: ", g.Name, FormatDifference(g.DifferenceDB))
	if g.Cause == match.Answered && g.Move == 0 {
		return text + "the moves together deal with it"
	}
	if g.Cause == match.Answered {
		return text + fmt.Sprintf("move %d deals with it", g.Move)
	}
	if why := sinceOf(g); why != "" {
		return text + "no move, since " + why
	}
	return text + "no move"
}

// GapSentence says so in a sentence, of a gap that no move answers.
func GapSentence(g match.Gap) string {
	text := fmt.Sprintf("The %s, %s, %s no move", g.Name, FormatDifference(g.DifferenceDB), either(IsPlural(g.Zone), "get", "gets"))
	if why := sinceOf(g); why != "" {
		text += ", since " + why
	}
	return text + "."
}

// LeaveAlone asks for a gap that no move answers to be left.
func LeaveAlone(g match.Gap) string {
	text := fmt.Sprintf("Leave the %s alone", g.Name)
	if why := sinceOf(g); why != "" {
		text += ", since " + why
	}
	return text + "."
}

// IsPlural reports whether a zone takes a plural verb: "the lows are", "the air is".
func IsPlural(z match.Zone) bool { return z.Name[len(z.Name)-1] == 's' }

// sinceOf is the cause of a gap that no move answers.
func sinceOf(g match.Gap) string {
	switch g.Cause {
	case match.NoneSought:
		return noMovesSince(g.NoMoves)
	case match.Uncertain:
		return fmt.Sprintf("chance can make as much (likely range ±%.1f dB)", g.HalfDB)
	case match.WithinSpread:
		return fmt.Sprintf("other references like these may differ by as much there (±%.1f dB)", g.SpreadDB)
	}
	return WhyLeft(g.Cause, 0)
}

// noMovesSince is [NoMoves] after "since".
func noMovesSince(n match.NoMoves) string {
	switch n.Outlook {
	case match.NotAsked:
		return "none was asked for"
	case match.Inaudible:
		return "the difference as a whole is inaudible"
	case match.NothingToDo:
		if n.Usual {
			return "the mix as a whole has this tone already"
		}
		return "none of the difference is clearly tone rather than arrangement"
	case match.TooUnlike:
		return "the reference as a whole is too unlike"
	case match.TooLittle:
		return "less than two octaves can be judged"
	case match.TooShort:
		return "there is too little music to tell tone from chance"
	case match.NoneHelps:
		return "no broad move that shows clearly would help"
	}
	return ""
}

// WhyLeft says why a zone stays off beside the moves, "" where no cause stands out. Percent is
// how much of the way was asked for.
func WhyLeft(c match.GapCause, percent float64) string {
	switch c {
	case match.NotTonal:
		return "most of that is not clearly tonal and is not followed"
	case match.OnlyPart:
		return fmt.Sprintf("no more than %.0f %% of the way was asked for", percent)
	case match.NotBent:
		return "a few broad moves come no closer"
	}
	return ""
}
