package report

import (
	"fmt"
	"math"
	"strings"

	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/spectrum"
)

// summary returns a few sentences on what a picture shows: where the mix differs, what the
// moves do about it, what is left and why.
func summary(r *match.Result) []string {
	if r.Mix == nil {
		return summaryOfCurve(r)
	}
	if held(r) {
		return whereYourMovesLeaveIt(r)
	}
	most, other := r.FarthestZones(differenceOf)
	return []string{whereItDiffers(r, most, other), whatTheMovesDo(r, most, other), whatIsLeft(r)}
}

// summaryOfCurve is summary for a drawn curve.
func summaryOfCurve(r *match.Result) []string {
	low, high := -1, -1
	for b, db := range r.DifferenceDB {
		if r.LeftOut[b].Cause != match.Kept {
			continue
		}
		if low < 0 || db < r.DifferenceDB[low] {
			low = b
		}
		if high < 0 || db > r.DifferenceDB[high] {
			high = b
		}
	}
	at := func(b int) string {
		return fmt.Sprintf("around %s, at %s dB", words.FormatHz(spectrum.CentreHz(b)), words.FormatGain(r.DifferenceDB[b]))
	}
	all := []string{fmt.Sprintf("The curve is highest %s, and lowest %s.", at(high), at(low))}
	if len(r.Moves) == 0 {
		return append(all, words.WhyNoMoves(r), fmt.Sprintf("It departs from a level by %.2f dB.", r.DistanceBeforeDB))
	}
	return append(all,
		words.UpperFirst(doings(r, servedBy(r).others))+".",
		fmt.Sprintf("Of %.2f dB by which the curve departs from a level %.2f are left: broad moves in the steps of the dials come no nearer.", r.DistanceBeforeDB, r.DistanceAfterDB))
}

// doings says what moves do, by their numbers: "move 1 takes 2.0 dB out around 425 Hz". More than fit on a page beside
// their table are only named.
func doings(r *match.Result, indices []int) string {
	const most = 4 // our choice: as many as are usually advised
	var all []string
	var numbers []int
	for _, k := range indices {
		all, numbers = append(all, moveName(r, k)+" "+does(r.Moves[k])), append(numbers, k+1)
	}
	if len(all) > most {
		return "moves " + words.Numbers(numbers) + " do what the table says"
	}
	return words.List(all)
}

// moveName names a move by its number, if there are several.
func moveName(r *match.Result, index int) string {
	if len(r.Moves) == 1 {
		return "the move"
	}
	return fmt.Sprintf("move %d", index+1)
}

// does says what a move does: "takes 2.0 dB out around 425 Hz".
func does(m match.Move) string {
	if m.GainDB < 0 {
		return fmt.Sprintf("takes %.1f dB out %s", -m.GainDB, words.Place(m.Shape, m.FreqHz))
	}
	return fmt.Sprintf("adds %.1f dB %s", m.GainDB, words.Place(m.Shape, m.FreqHz))
}

func differenceOf(z match.ZoneDifference) float64 { return z.DifferenceDB }
func leftOf(z match.ZoneDifference) float64       { return z.DifferenceDB - z.FittedDB }

func whereItDiffers(r *match.Result, most, other int) string {
	present := presentOf(r)
	switch {
	case most < 0:
		return "No zone is judged in so much of its width that its tone could be told."
	case math.Abs(present(r.Zones[most])) < match.WorthNamingDB:
		return fmt.Sprintf("No zone of the mix is more than %.1f dB from %s, ignoring level.", match.WorthNamingDB, words.References(len(r.References)))
	}
	z := r.Zones[most]
	text := fmt.Sprintf("Ignoring level, the mix differs most in the %s: %s %s there", z.Name, words.FormatDifference(present(z)), words.References(len(r.References)))
	if z.HalfDB >= 0.05 {
		text += fmt.Sprintf(" (±%.1f)", z.HalfDB)
	}
	if other >= 0 && math.Abs(present(r.Zones[other])) >= match.WorthNamingDB {
		z := r.Zones[other]
		text += fmt.Sprintf("; the biggest gap the other way is the %s, %s", z.Name, words.FormatDifference(present(z)))
	}
	return text + "."
}

// whatTheMovesDo says what every move does, those that deal with the zones first, and what the trim is for.
func whatTheMovesDo(r *match.Result, zones ...int) string {
	gap := ""
	if g := r.Gap(); g != nil && !g.Cause.Closed() && g.Cause != match.NoneSought {
		gap = " " + words.GapSentence(*g)
	}
	if len(r.Moves) == 0 {
		return words.WhyNoMoves(r) + gap
	}
	by := servedBy(r, zones...)
	var said []string
	for _, m := range by.moves {
		said = append(said, fmt.Sprintf("%s deals with %s: it %s", moveName(r, m.index), words.List(m.zones), does(r.Moves[m.index])))
	}
	if by.together != nil {
		said = append(said, "the moves together deal with "+words.List(by.together))
	}
	others := doings(r, by.others)
	switch {
	case len(said) == 0:
		said, others = []string{others}, ""
	case others != "":
		others = " " + words.UpperFirst(others) + "."
	}
	text := words.UpperFirst(strings.Join(said, ", and "))
	who, takes, adds := "all moves together", "take", "add"
	if len(r.Moves) == 1 {
		who, takes, adds = "it", "takes", "adds"
	}
	switch {
	case r.TrimDB >= 0.05:
		text += fmt.Sprintf("; the trim of %s dB gives back the loudness that %s %s", words.FormatGain(r.TrimDB), who, takes)
	case r.TrimDB <= -0.05:
		text += fmt.Sprintf("; the trim of %s dB takes back the loudness that %s %s", words.FormatGain(r.TrimDB), who, adds)
	}
	return text + ", so that the ear judges tone and not level." + others + by.without() + gap
}

// whatIsLeft names the zone where most is left, and the main reason.
func whatIsLeft(r *match.Result) string {
	text := fmt.Sprintf("The distance stays at %.1f dB", r.DistanceBeforeDB)
	if len(r.Moves) > 0 {
		text = fmt.Sprintf("The distance falls from %.1f to %.1f dB", r.DistanceBeforeDB, r.DistanceAfterDB)
		if most, _ := r.FarthestZones(leftOf); most >= 0 && math.Abs(leftOf(r.Zones[most])) >= match.WorthNamingDB {
			z := r.Zones[most]
			text += fmt.Sprintf("; most is left in the %s, %s", z.Name, words.FormatDifference(leftOf(z)))
			why := words.WhyLeft(r.WhyLeft(z), r.SolveOptions.TowardPercent)
			if g := r.Gap(); g != nil && g.Zone == z.Zone && !g.Cause.Closed() {
				why = "" // GapSentence has said it
			}
			if why != "" {
				text += ": " + why
			}
		}
	}
	if oneSong(r) {
		return text + "."
	}
	return text + ". " + words.UpperFirst(otherSongs) + "."
}

// questions returns the questions of a worksheet.
func questions(r *match.Result) []string {
	if r.Mix == nil {
		return []string{
			"1. Where does the curve leave the middle line, and how far?",
			"2. Which two to four broad moves of one equaliser make it? Write shape, frequency, gain and width into the rows.",
			"3. Which part of the curve would you leave alone, and why?",
		}
	}
	return []string{
		fmt.Sprintf("1. In which zones does the mix lie over %s, in which under? Where is the pale band as wide as the difference?", words.References(len(r.References))),
		"2. Which two to four broad moves of one equaliser take the mix there, and how far would you go? Write them into the rows.",
		"3. What would you leave alone, because it is arrangement and not tone? Is anything hatched, and why?",
	}
}
