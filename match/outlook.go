package match

import "toneplumb/spectrum"

// Outlook says whether anything can be advised; it is decided before moves are searched.
type Outlook uint8

const (
	Advised     Outlook = iota // there are moves
	NotAsked                   // no moves, or 0 % of the way, were asked for
	Inaudible                  // the difference is below InaudibleDB
	NothingToDo                // the mix has this tone already, within what can be measured
	TooUnlike                  // the reference is farther away than songs by one maker are
	TooLittle                  // less than two octaves can be judged
	TooShort                   // the recordings hold too little music
	NoneHelps                  // no set of moves on this equaliser comes nearer
)

// Code returns the outlook as it is written in JSON.
func (o Outlook) Code() string {
	return [...]string{"advised", "not-asked", "inaudible", "nothing-to-do", "too-unlike", "too-little-judged", "too-short", "none-helps"}[o]
}

// outlook returns the reason not to search for moves, Advised if there is none.
func (a *Advice) outlook(maxMoves int) Outlook {
	c, o := a.comparison, a.options
	distanceDB := c.judged.Distance(c.DifferenceDB)
	quiet := c.judged.RMS(a.target.db) <= a.target.nothingDB
	switch {
	case maxMoves == 0 || o.TowardPercent == 0:
		return NotAsked
	case distanceDB < InaudibleDB:
		return Inaudible
	case a.options.ExactMoves || a.target.exact:
		return Advised
	case c.judged.Count() < 2*spectrum.BandsPerOctave:
		return TooLittle
	case o.Stage != AsMeasured && distanceDB > o.Stage.farthestDB(len(c.References)):
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

// shortestSec returns the seconds of music in the recording that holds the least.
func (c *Comparison) shortestSec() float64 {
	least := c.Mix.MusicSec()
	for _, r := range c.References {
		least = min(least, r.MusicSec())
	}
	return least
}

// IsShort reports whether a recording holds less music than a song of three minutes, so that a longer part may
// say more. Our choice.
func (c *Comparison) IsShort() bool { return c.shortestSec() < 180 }

// NoMoves is why there are no moves, for the text in their place.
type NoMoves struct {
	Outlook Outlook
	ApartDB float64 // DistanceBeforeDB
	Usual   bool    // for NothingToDo: finished songs are usually farther apart
	Curve   bool    // a drawn curve is followed, not a recording
	OwnSong bool    // all references are copies of the mix's song
	LeastDB float64 // the smallest gain that was wanted; 0: any
	Own     bool    // for an equaliser that was described
}

// NoMoves returns why there are no moves. It is meaningful only if r.Moves is empty.
func (r *Result) NoMoves() NoMoves {
	return NoMoves{r.Outlook, r.DistanceBeforeDB, r.DistanceBeforeDB < finishedApartDB, r.Mix == nil, r.ownSong(), r.SolveOptions.LeastDB, r.SolveOptions.Equaliser.Offers()}
}

// hasToneDB is the distance from another song below which the mix has its tone. Our choice:
// half of finishedApartDB.
const hasToneDB = 1.3

// finishedApartDB is what nine of ten pairs of finished songs by one maker exceed. Measured, see
// TestApart and testdata/README.md, "How far apart songs are".
const finishedApartDB = 2.5
