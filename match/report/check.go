package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"toneplumb/match"
	"toneplumb/match/words"
)

// Check writes a check for a terminal of 80 [Columns].
func Check(w io.Writer, k *match.Check) error {
	var t TextReport
	t.Paragraph("", CheckSentence(k))
	t.WriteString("\n")
	recordingLines(&t, checkedRecordings(k))
	t.WriteString("\n")
	checkedZones(&t, k)
	t.WriteString("\n")
	for _, s := range checkSentences(k) {
		if s != "" {
			t.Paragraph("", s)
		}
	}
	t.list("side and mid:", words.SideFindings(k.Sides, len(k.References)))
	progress(&t, k)
	t.WriteString("\n")
	checkedFacts(&t, k)
	t.Warnings(words.Findings(k.Warnings))
	return t.WriteOut(w)
}

// checkSentences return how far off the mix is and how it was judged; some may be empty.
func checkSentences(k *match.Check) []string {
	return []string{checkDistance(k), toleranceSentence(k), atOnce, checkJudged(k.Comparison), copies(k.Comparison)}
}

func checkedZones(t *TextReport, k *match.Check) {
	const row = "  %-10s %-14s %-23s %9s  %s"
	t.WriteString(fmt.Sprintf(row, "zone", "the mix is", "likely range", "tolerance", "verdict") + "\n")
	for _, z := range k.Zones {
		c := zoneCells(z)
		t.WriteString(strings.TrimRight(fmt.Sprintf(row, z.Name, c[0], c[1], c[2], c[3]), " ") + "\n")
	}
}

// zoneCells returns where the mix is in a zone, the likely range, the tolerance and the verdict;
// only the first if the zone is left out.
func zoneCells(z match.ZoneVerdict) [4]string {
	if z.Why == match.LeftOutZone {
		return [4]string{z.Why.String()}
	}
	verdict := z.Verdict.String()
	if z.WideOnly() {
		verdict += " ~"
	}
	return [4]string{words.FormatDifference(z.DifferenceDB), words.FormatInterval(z.LowDB, z.HighDB), fmt.Sprintf("±%.1f dB", z.ToleranceDB), verdict}
}

// WideOnly says what the mark ~ of a verdict means.
const WideOnly = "inside only because songs differ much there, so listen"

// atOnce says what the likely ranges of a check are.
const atOnce = "The likely ranges hold in all zones at once (95 %)."

// CheckSentence returns the verdict on the whole, with the zones that are off or too close to
// call.
func CheckSentence(k *match.Check) string { return Doubted(onTheWhole(k, everything), k.Warnings) }

// brevity says what a verdict leaves out that has too little room: each value also what those before it do. Only whole
// sentences go, the least important first.
type brevity uint8

const (
	everything  brevity = iota
	wideByName          // the figures of zones that are near enough by a wide tolerance alone
	noneWide            // those zones
	noneOpen            // zones that are too close to call
	fewZones            // all but two of the zones that are off, and of those that are unusual
	noCaveat            // what so few references show
	noneUnusual         // the unusual zones
)

// shorterChecks returns [CheckSentence] in fewer and fewer words.
func shorterChecks(k *match.Check) (all []string) {
	for b := wideByName; b <= noneUnusual; b++ {
		all = append(all, Doubted(onTheWhole(k, b), k.Warnings))
	}
	return append(all, doubtAlone(k.Warnings)...)
}

// zoneList names zones, at most two of them if short.
func zoneList(zones []string, short bool) string {
	const few = 2
	if short && len(zones) > few+1 {
		zones = append(zones[:few:few], fmt.Sprintf("%d more", len(zones)-few))
	}
	return words.List(zones)
}

func onTheWhole(k *match.Check, b brevity) string {
	var off, unusual, open, wide []string
	for _, z := range k.Zones {
		switch {
		case z.Verdict == match.Differs:
			off = append(off, fmt.Sprintf("%s (%s)", z.Name, words.FormatDifference(z.DifferenceDB)))
		case z.Verdict == match.Unusual:
			unusual = append(unusual, fmt.Sprintf("%s (%s)", z.Name, words.FormatDifference(z.DifferenceDB)))
		case z.Why == match.TooUncertain:
			open = append(open, z.Name)
		case z.WideOnly():
			wide = append(wide, words.Either(b >= wideByName, z.Name, fmt.Sprintf("%s (%s)", z.Name, words.FormatDifference(z.DifferenceDB))))
		}
	}
	caveat := ""
	if len(off) == 0 && b < noCaveat {
		caveat = judgesLittle(k)
	}
	text := "No zone is clearly off."
	switch {
	case len(off) > 0:
		text = "Off: " + zoneList(off, b >= fewZones) + "."
	case len(open) == 0 && k.Verdict == match.NearEnough:
		text = "Near enough to " + words.References(len(k.References)) + " in every zone" + judgedAlone(k) + "."
		if len(wide) > 0 { // never dropped: it takes back half of what the first says
			text += " By a wide tolerance alone, so listen there: " + zoneList(wide, b >= noneWide) + "."
		}
		return strings.TrimRight(text+" "+caveat, " ")
	case len(unusual) == 0 && len(open) == 0:
		return "No zone can be judged: all are left out."
	}
	if len(unusual) > 0 && b < noneUnusual {
		text += " Unusual, so listen there: " + zoneList(unusual, b >= fewZones) + "."
	}
	if len(wide) > 0 && b < noneWide {
		text += " Near enough by a wide tolerance alone: " + words.List(wide) + "."
	}
	if len(open) > 0 && b < noneOpen {
		text += " Too close to call: " + words.List(open) + words.Either(k.IsShort(), "; longer recordings may tell.", "; more references may tell, or your ears.")
	}
	return strings.TrimRight(text+" "+caveat, " ")
}

// judgedAlone says which zones are not judged, "" if all are.
func judgedAlone(k *match.Check) string {
	var out []string
	for _, z := range k.Zones {
		if z.Why == match.LeftOutZone {
			out = append(out, z.Name)
		}
	}
	if out == nil {
		return ""
	}
	return " that is judged (not " + words.List(out) + ")"
}

func judgesLittle(k *match.Check) string {
	return JudgesLittle(k.WithinDB, len(k.References), k.OwnSong)
}

// JudgesLittle says beside a verdict that finds nothing off that so few references find only large
// faults; "" if the tolerance is another. A fault of 4 dB is found in 22 % of mixes beside one and in 27 %
// beside two, see match/testdata/README.md, "Decision 2: what is near enough".
func JudgesLittle(withinDB float64, references int, ownSong bool) string {
	if withinDB > 0 || references > 2 || ownSong {
		return ""
	}
	return fmt.Sprintf("Beside %s only large faults show.", words.Plural(references, "one reference", "two references"))
}

func toleranceSentence(k *match.Check) string {
	if k.OwnSong && k.WithinDB == 0 {
		return fmt.Sprintf("Tolerance: ±%.1f dB, since this is the mix's own song.", float64(match.OwnSongDB)) + whyOpen(k)
	}
	text := Tolerance(k.WithinDB, len(k.References))
	if marks := explained(k); marks != "" {
		text += " " + marks
	}
	if slices.ContainsFunc(k.Zones, isUnusual) {
		text += " One finished song in three has an unusual zone."
	}
	return text + whyOpen(k)
}

func isUnusual(z match.ZoneVerdict) bool { return z.Verdict == match.Unusual }

// explained returns what those words and marks of the verdicts mean that do not say it; "" if there are none.
func explained(k *match.Check) string {
	var all []string
	if slices.ContainsFunc(k.Zones, isUnusual) {
		all = append(all, "Unusual: nine songs in ten lie nearer in that zone.")
	}
	if slices.ContainsFunc(k.Zones, match.ZoneVerdict.WideOnly) {
		all = append(all, "~: "+WideOnly+".")
	}
	return strings.Join(all, " ")
}

// whyOpen says what keeps zones too close to call, "" if there are none.
func whyOpen(k *match.Check) string {
	var outside, wide []string
	for _, z := range k.Zones {
		switch {
		case z.Why != match.TooUncertain:
		case math.Abs(z.DifferenceDB) > z.ToleranceDB:
			outside = append(outside, z.Name)
		default:
			wide = append(wide, z.Name)
		}
	}
	var why []string
	if outside != nil {
		why = append(why, "outside, but the likely range reaches inside ("+words.List(outside)+")")
	}
	if wide != nil {
		why = append(why, "inside, but half the likely range is more than the tolerance ("+words.List(wide)+")")
	}
	if why == nil {
		return ""
	}
	return " Too close to call: " + strings.Join(why, "; ") + "."
}

// Tolerance says where the tolerances for that many references come from; withinDB as in
// [match.Comparison.Verdict]. The shares in it are measured, see match/testdata/README.md, "Decision 2: what is
// near enough". Where three references scatter as one maker's songs do on average, the tolerance is
// √((1 + 1/3)/2)·t₇/t₅ = 0.74 of that beside one, and where they are alike √(5/7) of that, 0.62: see TestTolerances.
func Tolerance(withinDB float64, references int) string {
	switch {
	case withinDB > 0:
		return fmt.Sprintf("Tolerance: ±%.1f dB, as asked for.", withinDB)
	case references == 1:
		return "Tolerance: how far another song by the reference's maker may lie. One finished song in seven is outside in some zone. Three references make it a quarter narrower if they differ as one maker's songs usually do, up to two fifths if they are alike, and wider if they differ more."
	}
	return fmt.Sprintf("Tolerance: how far one more song like these %d may lie from their mean. One finished song in ten is outside in some zone.", references)
}

func checkDistance(k *match.Check) string {
	text := fmt.Sprintf("%.2f dB from %s (ignoring level)", k.DistanceDB, words.Plural(len(k.References), "the reference", "the references' mean"))
	if len(k.References) > 1 || k.OwnSong {
		return text + "."
	}
	return text + "; " + otherSongs + "."
}

func checkJudged(c *match.Comparison) string {
	low, high := c.JudgedHz()
	return fmt.Sprintf("Judged from %s to %s.", words.FormatHz(low), words.FormatHz(high))
}

// checkedFacts writes the recordings' figures side by side, without a verdict.
func checkedFacts(t *TextReport, k *match.Check) {
	all := checkedRecordings(k)
	for i := range all { // the columns are narrow
		all[i].who = strings.TrimPrefix(all[i].who, "reference ")
	}
	t.WriteString("for comparison, without a verdict:\n")
	const perTable, width = 5, 10
	factsTables(t, all, perTable, width, true)
}
