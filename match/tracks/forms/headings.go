package forms

import (
	"fmt"
	"slices"

	"toneplumb/match/report"
	"toneplumb/match/tracks"
	"toneplumb/match/words"
)

// Headings shared by text and page.
const (
	sharesHeading   = "Each track's share of the mix, percent of the zone's power"
	changesHeading  = "What the moves on the master do to each track's loudness, LU before the trim"
	lowCutsHeading  = "Low ends you could cut, if you hear nothing missing"
	placingsHeading = "To bring tracks forward or move them back (common practice, 2 to 8 kHz)"
)

// pairsHeading returns the heading of the pairs. Their levels are those with a firm plan's faders set.
func pairsHeading(a *tracks.Advice) string {
	if a.PlanReplacesMoves() && len(a.Plan.Faders) > 0 {
		return "With the plan's faders set, tracks that fill the same zone at the same time"
	}
	return "Tracks that fill the same zone at the same time, about equally strong"
}

// mostPairs is how many pairs are written; the document has all.
const mostPairs = 8

// morePairs says how many pairs are not written, "" for none.
func morePairs(a *tracks.Advice) string {
	if n := len(a.Pairs) - mostPairs; n > 0 {
		return fmt.Sprintf("and %d more %s: the .json document has them all.", n, words.Plural(n, "pair", "pairs"))
	}
	return ""
}

// anyHeard reports whether a track is used.
func anyHeard(a *tracks.Advice) bool {
	return slices.ContainsFunc(a.Tracks, func(t tracks.Track) bool { return t.State == tracks.Heard })
}

// warnings returns the texts of the findings, safe to print.
func warnings(a *tracks.Advice) []string {
	all := words.TrackFindings(a)
	for i, text := range all {
		all[i] = report.Printable(text)
	}
	return all
}
