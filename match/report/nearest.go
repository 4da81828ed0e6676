package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// Nearest writes a ranking of references for a terminal of 80 [Columns]. The error is w's.
func Nearest(w io.Writer, mix *measure.Recording, all []match.RankedReference, warnings finding.List) error {
	var t TextReport
	recordingLines(&t, namedAll(mix, nil, nil))
	const nameWidth = 34
	fmt.Fprintf(&t, "\n #  %s distance  low end    width    range\n", Pad("reference", nameWidth))
	for i, n := range all {
		fmt.Fprintf(&t, "%2d  %s %5.1f dB %5.1f dB %5.1f dB %5.1f LU\n", i+1, Pad(Shorten(n.Reference.Name, nameWidth), nameWidth),
			n.DistanceDB, n.LowEndDB, n.WidthDB, n.RangeLU)
	}
	t.WriteString("\n")
	t.Paragraph("", ranking)
	t.Paragraph("", nearestTerms)
	t.Paragraph("", NearestHeadline(all))
	for _, note := range words.Findings(warnings) {
		t.Paragraph("- ", note)
	}
	return t.WriteOut(w)
}

// nearestTerms explains the columns.
const nearestTerms = "Distance: the whole tone, ignoring level; " + otherSongs + ". Low end: sub and lows, also where the distance leaves them out. Width: mid against side, zone by zone. Range: loudness range. 0 is alike."

// ranking explains the order. Its shares are those of match/testdata/README.md, "Decision 3: which
// references suit a mix".
const ranking = "Ranked by distance plus half the width plus a third of the range, so a smaller distance may come later; a song twice as far in tone never ranks higher. " +
	"This goes by sound and knows no makers: of ten songs, three by the mix's maker, one of these came first in 62 % of tries, by distance alone in 54 %."

// NearestHeadline says which references to use together, and if even the nearest is far.
func NearestHeadline(all []match.RankedReference) string {
	others, leastDB := 0, math.Inf(1)
	for _, n := range all {
		if !n.SameSong {
			others++
			leastDB = min(leastDB, n.DistanceDB)
		}
	}
	if others > 0 && leastDB > match.UsuallyWithinDB {
		return fmt.Sprintf("Look for others: even the nearest is %.1f dB apart, farther than nine in ten pairs of songs by one maker. ", leastDB) + use(all, others)
	}
	return use(all, others)
}

// use names the references to use together; others are not the mix's own song.
func use(all []match.RankedReference, others int) string {
	switch {
	case others == 0:
		return "Nothing to use: every reference is the mix's own song."
	case others <= match.MostRecommended && others < len(all):
		return fmt.Sprintf("With %d or fewer there is nothing to choose: use all but the mix's own song.", match.MostRecommended)
	case others <= match.MostRecommended:
		return fmt.Sprintf("With %d or fewer there is nothing to choose: use all of them.", match.MostRecommended)
	}
	var names []string
	for _, i := range match.Recommended(all) {
		names = append(names, all[i].Reference.Name)
	}
	return "Use together: " + strings.Join(names, ", ") + "."
}

// NearestJSON writes a ranking of references as one JSON document, version [FindingsVersion]. The
// error is w's.
func NearestJSON(w io.Writer, mix *measure.Recording, all []match.RankedReference, warnings finding.List) error {
	type reference struct {
		File        string    `json:"file"`
		DistanceDB  Number    `json:"distance_db"`
		LowEndDB    Number    `json:"low_end_db"`
		WidthDB     Number    `json:"width_db"`
		RangeLU     Number    `json:"range_lu"`
		RankedByDB  Number    `json:"ranked_by_db"` // distance, half the width and a third of the range
		JudgedHz    [2]Number `json:"judged_hz"`
		SameSong    bool      `json:"same_song"`
		MixItself   bool      `json:"mix_itself"`
		MakesSpread bool      `json:"makes_spread"` // most of the spread of the recommended references
	}
	d := struct {
		Version     int         `json:"version"`
		Mix         string      `json:"mix"`
		References  []reference `json:"references"`
		UseTogether []string    `json:"use_together"`
		Warnings    []Warning   `json:"warnings"`
	}{Version: FindingsVersion, Mix: mix.Name, Warnings: WarningsJSON(warnings)}
	for _, n := range all {
		d.References = append(d.References, reference{
			File: n.Reference.Name, DistanceDB: Number(n.DistanceDB), LowEndDB: Number(n.LowEndDB), WidthDB: Number(n.WidthDB),
			RangeLU: Number(n.RangeLU), RankedByDB: Number(n.ApartDB), MakesSpread: n.Odd != nil,
			JudgedHz: [2]Number{Number(n.JudgedHz[0]), Number(n.JudgedHz[1])}, SameSong: n.SameSong, MixItself: n.Itself,
		})
	}
	for _, i := range match.Recommended(all) {
		d.UseTogether = append(d.UseTogether, all[i].Reference.Name)
	}
	return WriteJSON(w, d)
}
