package match

import (
	"fmt"
	"slices"

	"toneplumb/spectrum"
)

// Outlook says what can be advised at all, which is decided before any move is sought.
type Outlook uint8

const (
	Advised     Outlook = iota // there are moves
	NotAsked                   // no moves, or none of the way, were asked for
	Inaudible                  // the difference is below what anybody hears
	NothingToDo                // the mix has this tone already, as far as can be told
	TooUnlike                  // the reference lies farther away than songs by one maker do
	TooLittle                  // less than two octaves can be judged
	TooShort                   // the recordings hold too little music
	NoneHelps                  // no set of moves on this equaliser comes nearer
)

// Code is the outlook in JSON.
func (o Outlook) Code() string {
	return [...]string{"advised", "not-asked", "inaudible", "nothing-to-do", "too-unlike", "too-little-judged", "too-short", "none-helps"}[o]
}

// outlook returns what speaks against looking for moves, Advised if nothing does.
func (a *Advice) outlook(maxMoves int) Outlook {
	c, o := a.comparison, a.options
	distanceDB := c.distance(c.DifferenceDB)
	quiet := c.rms(a.target.db) <= a.target.nothingDB
	switch {
	case maxMoves == 0 || o.TowardPercent == 0:
		return NotAsked
	case distanceDB < inaudibleDB:
		return Inaudible
	case a.options.ExactMoves || a.target.exact:
		return Advised
	case c.judgedBands() < 2*spectrum.BandsPerOctave:
		return TooLittle
	case o.Stage != AsMeasured && distanceDB > o.Stage.farthestDB():
		return TooUnlike
	case o.Stage != AsMeasured && distanceDB < hasToneDB:
		return NothingToDo
	case quiet && c.shortestSec() < thinSec:
		return TooShort
	case quiet:
		return NothingToDo
	}
	return Advised
}

// shortestSec is the least music that any of the recordings holds.
func (c *Comparison) shortestSec() float64 {
	least := c.Mix.MusicSec()
	for _, r := range c.References {
		least = min(least, r.MusicSec())
	}
	return least
}

// WhyNoMoves is the sentence that stands where the moves would, "" where there are some.
func (r *Result) WhyNoMoves() string {
	apart := fmt.Sprintf("%.1f dB apart", r.DistanceBeforeDB)
	switch r.Outlook {
	case Advised:
		if len(r.Moves) == 0 {
			return "No moves are set."
		}
	case NotAsked:
		return "No moves were asked for."
	case Inaudible:
		if r.Mix == nil {
			return fmt.Sprintf("Nothing to do: the curve is level to within %.1f dB.", inaudibleDB)
		}
		return "Nothing to do: the difference is inaudible."
	case NothingToDo:
		if r.DistanceBeforeDB < finishedApartDB {
			return fmt.Sprintf("Nothing to do: the mix already has this tone (%s; finished songs usually differ by more).", apart)
		}
		return fmt.Sprintf("Nothing to do: %s, but none of it is clearly tone rather than arrangement.", apart)
	case TooUnlike:
		return fmt.Sprintf("Choose another reference: %s is farther than two songs by one maker usually are.", apart)
	case TooLittle:
		return "No moves: less than two octaves can be judged."
	case TooShort:
		return "No moves: there is too little music to tell tone from chance. Longer recordings may tell."
	case NoneHelps:
		if slices.Contains(r.SameSong, false) {
			return fmt.Sprintf("No moves: no broad move that shows clearly in the difference would help (%s).", apart)
		}
		return "No moves: none that this equaliser can make comes nearer."
	}
	return ""
}

// hasToneDB: within this distance of another song the mix has its tone. Our choice: half
// of finishedApartDB.
const hasToneDB = 1.3

// finishedApartDB: nine of ten pairs of finished songs by one maker differ by more.
// Measured, see TestApart.
const finishedApartDB = 2.6
