package report

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/plots"
)

// previous returns the finding about the moves of an earlier round, if there is one.
func previous(r *match.Result) (p match.PreviousMoves, is bool) {
	for _, f := range r.Warnings {
		if p, is = f.(match.PreviousMoves); is {
			return p, true
		}
	}
	return p, false
}

// dialledAlready heads moves that are kept.
const dialledAlready = "Dialled already"

// held reports whether the moves of a result are those that the mix was bounced through, and are kept.
func held(r *match.Result) bool {
	p, is := previous(r)
	return is && p.Use == match.Held
}

// WithoutMoves returns a curve's name with the remark, if there is an earlier round, that the curve is without
// the moves that the mix was bounced through.
func WithoutMoves(r *match.Result, name string) string {
	if _, is := previous(r); is {
		return name + " without your moves"
	}
	return name
}

// whyOf returns the reason for a move. How far the mix is off is without the moves, which a mix with moves
// that are kept is not.
func whyOf(r *match.Result, m match.Move) string {
	why := words.Why(m)
	if held(r) && (m.Why.Reason == match.Off || m.Why.Reason == match.OffRest) {
		return "without your moves " + why
	}
	return why
}

// presentOf returns how far the mix is off in a zone as its file is. [differenceOf] is without the
// moves that it was bounced through.
func presentOf(r *match.Result) func(match.ZoneDifference) float64 {
	if held(r) {
		return leftOf
	}
	return differenceOf
}

// earlierStyle is the look of a curve of the mix in another state than now.
var earlierStyle = plots.Style{Colour: plots.Grey, Weight: plots.Thin, Dash: plots.Dashed, Cased: true}

// withEarlier adds to a panel the curve of the mix in the other state: without the moves that it was
// bounced through if these are kept, else as bounced. The given curve is without those moves, and sign
// is +1 if they raise it, −1 if they lower it, as they do a difference. Both panels are drawn alike.
func withEarlier(p plots.Panel, before match.PreviousMoves, curve int, sign float64) plots.Panel {
	main := &p.Curves[curve]
	bounced := slices.Clone(main.DB)
	floats.AddScaled(bounced, sign, before.FittedDB)
	other := plots.Curve{Name: "as bounced", FreqHz: main.FreqHz, DB: bounced, Style: earlierStyle}
	if before.Use == match.Held {
		other.Name, other.DB, main.DB = "without your moves", main.DB, bounced
	}
	p.Curves = append(p.Curves, other)
	return p
}

// whereYourMovesLeaveIt is the summary of a mix whose earlier moves are kept: where it differs with
// them, and what they do.
func whereYourMovesLeaveIt(r *match.Result) []string {
	most, other := r.FarthestZones(leftOf)
	keep := "Keep your moves, and add none: others would gain too little to be worth dialling."
	if far, _ := r.FarthestZones(differenceOf); far >= 0 && math.Abs(r.Zones[far].DifferenceDB) >= match.WorthNamingDB {
		z := r.Zones[far]
		keep += fmt.Sprintf(" Without them the %s would be %s.", z.Name, words.FormatDifference(z.DifferenceDB))
	}
	distance := fmt.Sprintf("The distance is %.1f dB now, and %.1f dB without your moves.", r.DistanceAfterDB, r.DistanceBeforeDB)
	if !oneSong(r) {
		distance += " " + words.UpperFirst(otherSongs) + "."
	}
	return []string{whereItDiffers(r, most, other), keep, distance}
}
