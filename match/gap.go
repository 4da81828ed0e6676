package match

import (
	"math"

	"toneplumb/biquad"
	"toneplumb/spectrum"
)

// Gap is the zone in which the mix is farthest from the references, and what becomes of it.
type Gap struct {
	ZoneDifference
	Cause    GapCause
	Move     int     // of Answered: the move that does most there, from 1; 0: all of them together
	SpreadDB float64 // of WithinSpread: half the band of other references like these there
	NoMoves  NoMoves // of NoneSought
}

// GapCause is why a gap stays, or stays in part.
type GapCause uint8

const (
	Unexplained  GapCause = iota // no cause stands out
	Answered                     // a move deals with it
	NoneSought                   // there are no moves at all, see Outlook
	Uncertain                    // its likely range reaches 0: chance may have made it
	WithinSpread                 // other references like these may differ by as much
	NotTonal                     // most of it is not clearly tone rather than arrangement
	OnlyPart                     // no more than a part of the way was asked for
	NotBent                      // a few broad moves come no closer
)

// Code is the cause in JSON.
func (c GapCause) Code() string {
	return [...]string{"", "move", "no-moves", "uncertain", "references-differ", "not-tonal", "part-of-the-way", "broad-moves"}[c]
}

// WorthNamingDB is the least mean difference of a zone to speak of. Our choice: what a dial's
// step does.
const WorthNamingDB = 0.5

// togetherShare of a gap is what all moves close at least, level ignored, where they deal with it
// and none does alone: cuts elsewhere lift a zone. Our choice.
const togetherShare = 0.25

// FarthestZones returns the zone with the largest value and the one with the largest of the
// other sign, −1 where there is none.
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

// Gap returns the largest gap, nil where no zone is worth naming.
func (r *Result) Gap() *Gap {
	most, _ := r.FarthestZones(func(z ZoneDifference) float64 { return z.DifferenceDB })
	if r.Mix == nil || most < 0 || math.Abs(r.Zones[most].DifferenceDB) < WorthNamingDB {
		return nil
	}
	g := &Gap{ZoneDifference: r.Zones[most], NoMoves: r.NoMoves()}
	if r.ReferenceSpreadDB != nil { // of one reference
		g.SpreadDB, _ = r.Judged().Mean(r.ReferenceSpreadDB, g.LowHz, g.HighHz)
	}
	g.Move = r.MoveFor(g.Zone, g.DifferenceDB) + 1
	off, sign := math.Abs(g.DifferenceDB), math.Copysign(1, g.DifferenceDB)
	// Moves that are not sought for want of tone or music leave the cause to the zone.
	perZone := len(r.Moves) > 0 || r.Outlook == NothingToDo || r.Outlook == TooShort || r.Outlook == NoneHelps
	switch {
	case g.Move > 0, len(r.Moves) > 0 && sign*g.FittedDB >= togetherShare*off:
		g.Cause = Answered
	case perZone && off <= g.HalfDB:
		g.Cause = Uncertain
	case perZone && off <= g.SpreadDB:
		g.Cause = WithinSpread
	case len(r.Moves) == 0:
		g.Cause = NoneSought
	default:
		if g.Cause = r.WhyLeft(g.ZoneDifference); g.Cause == OnlyPart {
			g.Cause = NotBent // that part was asked for, and no move does it
		}
	}
	return g
}

// MoveFor returns the move, from 0, that does most in a zone towards a difference, −1 if none
// does half a step of its dial.
func (r *Result) MoveFor(z Zone, differenceDB float64) int {
	const halfStepDB = 0.25
	best, most := -1, halfStepDB
	for i, m := range r.Moves {
		response := biquad.ResponseDB(nil, []biquad.Filter{m.Filter}, spectrum.Centres(), r.RateHz)
		mean, _ := r.Judged().Mean(response, z.LowHz, z.HighHz)
		if does := mean * math.Copysign(1, differenceDB); does > most {
			best, most = i, does
		}
	}
	return best
}

// WhyLeft returns the largest of what keeps the moves from the references in a zone, level
// ignored: NotTonal, OnlyPart or NotBent; Unexplained where none is worth half of
// WorthNamingDB.
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
