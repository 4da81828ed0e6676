package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"toneplumb/match"
	"toneplumb/match/words"
)

// aloud returns three sentences that a teacher can read out: where the mix is off, what to dial
// for it, and what to leave alone.
func aloud(r *match.Result) []string { return []string{offAloud(r), dialledAloud(r), leftAloud(r)} }

func offAloud(r *match.Result) string {
	present := presentOf(r)
	most, other := r.FarthestZones(present)
	if most < 0 || math.Abs(present(r.Zones[most])) < match.WorthNamingDB {
		return fmt.Sprintf("Beside %s this mix is right in every zone, to within half a decibel.", words.References(len(r.References)))
	}
	amount := func(z match.ZoneDifference) string {
		much := "too little"
		if present(z) < 0 {
			much = "too much"
		}
		unit := "decibels"
		half := math.Round(2*math.Abs(present(z))) / 2 // in half decibels, as people say it
		if half <= 1 {
			unit = "decibel"
		}
		return fmt.Sprintf("about %g %s %s in the %s", half, unit, much, z.Name)
	}
	text := fmt.Sprintf("Beside %s this mix has %s", words.References(len(r.References)), amount(r.Zones[most]))
	if other >= 0 && math.Abs(present(r.Zones[other])) >= match.WorthNamingDB {
		text += ", and " + amount(r.Zones[other])
	}
	return text + "."
}

// dialledAloud says every move, those that deal with the zones of [offAloud] first, since a listener asks what each is
// for.
func dialledAloud(r *match.Result) string {
	if held(r) {
		return fmt.Sprintf("Change nothing: your moves leave %.1f of %.1f decibels, and others would gain too little.", r.DistanceAfterDB, r.DistanceBeforeDB)
	}
	if len(r.Moves) == 0 {
		return "So dial nothing. " + words.WhyNoMoves(r)
	}
	most, other := r.FarthestZones(differenceOf)
	by := servedBy(r, most, other)
	var said, others []string
	for _, m := range by.moves {
		said = append(said, doAloud(r.Moves[m.index])+" for "+words.List(m.zones))
	}
	for _, k := range by.others {
		others = append(others, doAloud(r.Moves[k]))
	}
	const perSentence = 3 // moves that are read out in one breath; our choice
	text, lead := "", "So "
	for _, moves := range slices.AppendSeq(slices.Collect(slices.Chunk(said, perSentence)), slices.Chunk(others, perSentence)) {
		text, lead = text+lead+words.List(moves)+". ", "Then "
	}
	if by.together != nil {
		text += "All moves together deal with " + words.List(by.together) + ". "
	}
	text += strings.TrimSpace(by.without())
	return fmt.Sprintf("%s That leaves %.1f of %.1f decibels.", strings.TrimSpace(text), r.DistanceAfterDB, r.DistanceBeforeDB)
}

func doAloud(m match.Move) string {
	if m.GainDB < 0 {
		return fmt.Sprintf("take %g decibels out %s", -m.GainDB, words.Place(m.Shape, m.FreqHz))
	}
	return fmt.Sprintf("add %g decibels %s", m.GainDB, words.Place(m.Shape, m.FreqHz))
}

func leftAloud(r *match.Result) string {
	if g := r.Gap(); g != nil && !g.Cause.Closed() {
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
