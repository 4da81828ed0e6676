package match

import "toneplumb/spectrum"

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

// NoMoves is why there are no moves: what stands where they would.
type NoMoves struct {
	Outlook Outlook
	ApartDB float64 // the distance
	Usual   bool    // NothingToDo: finished songs usually lie farther apart
	Curve   bool    // a drawn curve is followed, not a recording
	OwnSong bool    // all references are copies of the mix's song
}

// NoMoves returns why there are no moves; of use where there are none.
func (r *Result) NoMoves() NoMoves {
	return NoMoves{r.Outlook, r.DistanceBeforeDB, r.DistanceBeforeDB < finishedApartDB, r.Mix == nil, r.ownSong()}
}

// hasToneDB: within this distance of another song the mix has its tone. Our choice: half
// of finishedApartDB.
const hasToneDB = 1.3

// finishedApartDB: nine of ten pairs of finished songs by one maker differ by more.
// Measured, see TestApart.
const finishedApartDB = 2.6
