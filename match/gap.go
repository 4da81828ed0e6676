package match

import (
	"math"

	"toneplumb/biquad"
	"toneplumb/spectrum"
)

// Gap is the zone in which the mix is farthest from the references, and why it stays off.
type Gap struct {
	ZoneDifference
	Cause    GapCause
	Move     int     // for Answered: the move that does most there, from 1; 0: all of them together
	SpreadDB float64 // for WithinSpread: half the band of other references like these in this zone
	NoMoves  NoMoves // for NoneSought
}

// GapCause says that moves deal with a gap, or why they do not.
type GapCause uint8

const (
	Unexplained  GapCause = iota // no cause stands out
	Answered                     // a move deals with it
	Elsewhere                    // no move works there, but what they do elsewhere closes part of it, see [Result.Elsewhere]
	NoneSought                   // there are no moves at all, see Outlook
	Uncertain                    // its likely range reaches 0, so chance may explain it
	WithinSpread                 // other references like these may differ by as much
	NotTonal                     // most of it is not clearly tone rather than arrangement
	OnlyPart                     // only a part of the way was asked for
	NotBent                      // a few broad moves come no closer
)

// Code returns the cause as it is written in JSON; "" for Unexplained.
func (c GapCause) Code() string {
	return [...]string{"", "move", "elsewhere", "no-moves", "uncertain", "references-differ", "not-tonal", "part-of-the-way", "broad-moves"}[c]
}

// Closed reports whether moves close part of a gap, wherever they work.
func (c GapCause) Closed() bool { return c == Answered || c == Elsewhere }

// WorthNamingDB is the least mean difference of a zone that is worth naming. Our choice: the
// step of a gain dial.
const WorthNamingDB = 0.5

// togetherShare is the least share of a gap, level ignored, that all moves together must close
// if no single move does: cuts elsewhere lift a zone. Our choice.
const togetherShare = 0.25

// FarthestZones returns the index in r.Zones of the largest value without sign, and of the
// largest value of the opposite sign; −1 if there is none.
func (r *Result) FarthestZones(value func(ZoneDifference) float64) (most, other int) {
	most, other = -1, -1
	for i, z := range r.Zones {
		if v := value(z); !math.IsNaN(v) && (most < 0 || math.Abs(v) > math.Abs(value(r.Zones[most]))) {
			most = i
		}
	}
	for i, z := range r.Zones {
		if v := value(z); v*value(r.Zones[max(most, 0)]) < 0 && (other < 0 || math.Abs(v) > math.Abs(value(r.Zones[other]))) {
			other = i
		}
	}
	return most, other
}

// Gap returns the largest gap, nil if no zone is worth naming or a drawn curve is followed.
func (r *Result) Gap() *Gap {
	most, _ := r.FarthestZones(func(z ZoneDifference) float64 { return z.DifferenceDB })
	if r.Mix == nil || most < 0 || math.Abs(r.Zones[most].DifferenceDB) < WorthNamingDB {
		return nil
	}
	g := &Gap{ZoneDifference: r.Zones[most], NoMoves: r.NoMoves()}
	if r.ReferenceSpreadDB != nil { // nil for one reference
		g.SpreadDB, _ = r.Judged().Mean(r.ReferenceSpreadDB, g.LowHz, g.HighHz)
	}
	g.Move = r.MoveFor(g.Zone, g.DifferenceDB) + 1
	off := math.Abs(g.DifferenceDB)
	// If there are no moves for lack of tone or music, each zone may have a cause of its own.
	perZone := len(r.Moves) > 0 || r.Outlook == NothingToDo || r.Outlook == TooShort || r.Outlook == NoneHelps
	switch {
	case g.Move == 0 && r.ClosedTogether(g.ZoneDifference) && r.Elsewhere(g.ZoneDifference):
		g.Cause = Elsewhere
	case g.Move > 0, r.ClosedTogether(g.ZoneDifference):
		g.Cause = Answered
	case perZone && off <= g.HalfDB:
		g.Cause = Uncertain
	case perZone && off <= g.SpreadDB:
		g.Cause = WithinSpread
	case len(r.Moves) == 0:
		g.Cause = NoneSought
	default:
		if g.Cause = r.WhyLeft(g.ZoneDifference); g.Cause == OnlyPart {
			g.Cause = NotBent // that part was asked for, and no move reaches it
		}
	}
	return g
}

// ClosedTogether reports whether all moves together close enough of a zone's difference to be said to
// deal with it.
func (r *Result) ClosedTogether(z ZoneDifference) bool {
	return len(r.Moves) > 0 && math.Copysign(1, z.DifferenceDB)*z.FittedDB >= togetherShare*math.Abs(z.DifferenceDB)
}

// Elsewhere reports whether no moves work in a zone towards its difference, not even together: what they close of it
// they do elsewhere, since level is ignored.
func (r *Result) Elsewhere(z ZoneDifference) bool {
	all := 0.0
	for _, m := range r.Moves {
		all += r.does(m, z.Zone, z.DifferenceDB)
	}
	return all <= halfStepDB
}

// halfStepDB is half a step of a gain dial: less in the mean of a zone is no work.
const halfStepDB = 0.25

// does returns what a move does in a zone towards a difference, the mean in dB.
func (r *Result) does(m Move, z Zone, differenceDB float64) float64 {
	response := biquad.ResponseDB(nil, []biquad.Filter{m.Filter}, spectrum.Centres(), r.RateHz)
	mean, _ := r.Judged().Mean(response, z.LowHz, z.HighHz)
	return mean * math.Copysign(1, differenceDB)
}

// MoveFor returns the index of the move that does most in a zone towards a difference; −1 if
// none does more than half a step of its dial, 0.25 dB in the mean.
func (r *Result) MoveFor(z Zone, differenceDB float64) int {
	best, most := -1, halfStepDB
	for i, m := range r.Moves {
		if does := r.does(m, z, differenceDB); does > most {
			best, most = i, does
		}
	}
	return best
}

// WhyLeft returns the largest of the causes that keep a zone off after the moves, level
// ignored: [NotTonal], [OnlyPart] or [NotBent]. It returns [Unexplained] if none exceeds half
// of [WorthNamingDB].
func (r *Result) WhyLeft(z ZoneDifference) GapCause {
	toward := r.SolveOptions.TowardPercent / 100
	if toward == 0 {
		return Unexplained
	}
	free := func(db []float64) float64 {
		inside, _ := r.Judged().Mean(db, z.LowHz, z.HighHz)
		all, _ := r.Judged().Mean(db, 0, math.Inf(1))
		return inside - all
	}
	difference, target, fitted := free(r.DifferenceDB), free(r.TargetDB), free(r.FittedDB)
	sign := math.Copysign(1, z.DifferenceDB-z.FittedDB)
	best, most := Unexplained, WorthNamingDB/2
	for i, db := range []float64{difference - target/toward, target/toward - target, target - fitted} {
		if sign*db > most {
			best, most = NotTonal+GapCause(i), sign*db
		}
	}
	return best
}
