package words

import (
	"fmt"

	"toneplumb/match"
)

// Gap says how far off the zone farthest from the references is, and whether a move deals with
// it: "sub 7.0 dB over: no move, since its likely range (±8.1 dB) reaches level".
func Gap(g match.Gap) string {
	text := fmt.Sprintf("%s %s: ", g.Name, FormatDifference(g.DifferenceDB))
	switch {
	case g.Cause == match.Elsewhere:
		return text + "no move works there; what is done elsewhere closes part of it"
	case g.Cause != match.Answered:
		return text + "no move" + sinceOf(g)
	case g.Move == 0:
		return text + "the moves together deal with it"
	}
	return text + fmt.Sprintf("move %d deals with it", g.Move)
}

// GapSentence returns a sentence about a gap that no move deals with.
func GapSentence(g match.Gap) string {
	return fmt.Sprintf("The %s, %s, %s no move%s.", g.Name, FormatDifference(g.DifferenceDB), Either(isPlural(g.Zone), "get", "gets"), sinceOf(g))
}

// LeaveAlone returns a sentence that advises to leave a gap that no move deals with.
func LeaveAlone(g match.Gap) string {
	return fmt.Sprintf("Leave the %s alone%s.", g.Name, sinceOf(g))
}

// isPlural reports whether a zone takes a plural verb: "the lows are", "the air is".
func isPlural(z match.Zone) bool { return z.Name[len(z.Name)-1] == 's' }

// sinceOf returns ", since …", why no move deals with a gap; "" if there is no cause.
func sinceOf(g match.Gap) string {
	why := WhyLeft(g.Cause, 0)
	switch g.Cause {
	case match.NoneSought:
		why = noMovesSince(g.NoMoves)
	case match.Uncertain:
		why = fmt.Sprintf("chance can make as much (likely range ±%.1f dB)", g.HalfDB)
	case match.WithinSpread:
		why = fmt.Sprintf("other references like these may differ by as much there (±%.1f dB)", g.SpreadDB)
	}
	if why == "" {
		return ""
	}
	return ", since " + why
}

// noMovesSince returns the reason of [NoMoves], to follow "since".
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

// WhyLeft returns why a zone stays off after the moves, "" if no cause stands out. percent is
// how much of the way was asked for.
func WhyLeft(c match.GapCause, percent float64) string {
	switch c {
	case match.NotTonal:
		return "most of that is not clearly tonal and is not followed"
	case match.OnlyPart:
		return fmt.Sprintf("no more than %.0f %% of the way was asked for", percent)
	case match.NotBent:
		return "another broad move would gain too little"
	}
	return ""
}
