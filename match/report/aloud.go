package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"toneplumb/match"
	"toneplumb/match/words"
)

// aloud returns three sentences that a teacher can read out: where the mix is off, what to dial
// for it, and what to leave alone.
func aloud(r *match.Result) []string { return []string{offAloud(r), dialledAloud(r), leftAloud(r)} }

func offAloud(r *match.Result) string {
	most, other := r.FarthestZones(differenceOf)
	if most < 0 || math.Abs(r.Zones[most].DifferenceDB) < match.WorthNamingDB {
		return fmt.Sprintf("Beside %s this mix is right in every zone, to within half a decibel.", words.References(len(r.References)))
	}
	amount := func(z match.ZoneDifference) string {
		much := "too little"
		if z.DifferenceDB < 0 {
			much = "too much"
		}
		unit := "decibels"
		half := math.Round(2*math.Abs(z.DifferenceDB)) / 2 // in half decibels, as people say it
		if half <= 1 {
			unit = "decibel"
		}
		return fmt.Sprintf("about %g %s %s in the %s", half, unit, much, z.Name)
	}
	text := fmt.Sprintf("Beside %s this mix has %s", words.References(len(r.References)), amount(r.Zones[most]))
	if other >= 0 && math.Abs(r.Zones[other].DifferenceDB) >= match.WorthNamingDB {
		text += ", and " + amount(r.Zones[other])
	}
	return text + "."
}

// mostAloud is how many moves are named in a sentence to be read out. Our choice.
const mostAloud = 2

func dialledAloud(r *match.Result) string {
	if len(r.Moves) == 0 {
		return "So dial nothing. " + words.WhyNoMoves(r)
	}
	largest := slices.Clone(r.Moves)
	slices.SortStableFunc(largest, func(a, b match.Move) int {
		return cmp.Compare(math.Abs(b.GainDB), math.Abs(a.GainDB))
	})
	var said []string
	for _, m := range largest[:min(len(largest), mostAloud)] {
		said = append(said, doAloud(m))
	}
	rest := ""
	if len(r.Moves) > mostAloud {
		rest = ", and dial the rest from the table"
	}
	return fmt.Sprintf("So %s%s: that leaves %.1f of %.1f decibels.", words.List(said), rest, r.DistanceAfterDB, r.DistanceBeforeDB)
}

func doAloud(m match.Move) string {
	if m.GainDB < 0 {
		return fmt.Sprintf("take %g decibels out %s", -m.GainDB, words.Place(m.Shape, m.FreqHz))
	}
	return fmt.Sprintf("add %g decibels %s", m.GainDB, words.Place(m.Shape, m.FreqHz))
}

func leftAloud(r *match.Result) string {
	if g := r.Gap(); g != nil && g.Cause != match.Answered {
		return words.LeaveAlone(*g)
	}
	if len(r.Moves) == 0 {
		return "Nothing is left that an equaliser should deal with."
	}
	most, _ := r.FarthestZones(leftOf)
	if most < 0 || math.Abs(leftOf(r.Zones[most])) < match.WorthNamingDB {
		return "Go no further: then no zone is off by more than half a decibel."
	}
	if why := words.WhyLeft(r.WhyLeft(r.Zones[most]), r.SolveOptions.TowardPercent); why != "" {
		return fmt.Sprintf("Go no further, though most is left in the %s: %s.", r.Zones[most].Name, why)
	}
	return fmt.Sprintf("Go no further: what is left in the %s is not worth a move.", r.Zones[most].Name)
}
