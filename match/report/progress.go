package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"toneplumb/match"
	"toneplumb/match/words"
)

func progress(t *TextReport, k *match.Check) {
	p := k.Since
	if p == nil {
		return
	}
	fmt.Fprintf(t, "\nsince %s:\n", Shorten(p.Before.Mix.Name, Columns-8))
	const row = "    %-10s %-14s %-14s %10s   %s"
	t.WriteString(strings.TrimRight(fmt.Sprintf(row, "zone", "it was", "it is", "moved by", ""), " ") + "\n")
	for _, c := range progressRows(p) {
		t.WriteString(fmt.Sprintf(row, c[0], c[1], c[2], c[3], c[4]) + "\n")
	}
	for _, s := range progressSentences(p) {
		t.Paragraph("", s)
	}
	if slices.ContainsFunc(p.Zones, func(z match.ZoneProgress) bool { return !math.IsNaN(z.MovedDB()) && z.Nearness() == match.AsBefore }) {
		t.Paragraph("", "As before: within a quarter of a decibel.")
	}
}

// progressRows returns a row for each zone that is judged in both mixes: its name, where it was
// and is, by how much it moved, and whether it came nearer.
func progressRows(p *match.Progress) [][]string {
	var rows [][]string
	for _, z := range p.Zones {
		if !math.IsNaN(z.ThenDB) && !math.IsNaN(z.NowDB) {
			rows = append(rows, []string{z.Name, words.FormatDifference(z.ThenDB), words.FormatDifference(z.NowDB), words.FormatGain(z.MovedDB()) + " dB", z.Nearness().String()})
		}
	}
	return rows
}

func progressSentences(p *match.Progress) []string {
	all := []string{fmt.Sprintf("Distance: %.2f dB then, %.2f dB now (%s).", p.DistanceThenDB, p.DistanceNowDB, p.Nearness())}
	switch {
	case p.LowHz == 0:
		all = []string{"Nothing is judged in both mixes."}
	case p.Narrower:
		all = append(all, fmt.Sprintf("Compared from %s to %s, which is judged in both mixes, so these figures differ from those above.", words.FormatHz(p.LowHz), words.FormatHz(p.HighHz)))
	}
	if !p.SameSong {
		all = append(all, "The two mixes do not look like one song.")
	}
	return all
}
