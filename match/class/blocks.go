package class

import (
	"fmt"

	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/match/words"
)

// Headline returns a sentence that counts the verdicts.
func Headline(t *Table) string { return summary(t) }

// Blocks returns the table for a page, to follow [Headline].
func Blocks(t *Table) []report.Block {
	table := report.Block{Head: []string{"mix", "distance, dB", "with moves, dB"}}
	for _, z := range match.Zones() {
		table.Head = append(table.Head, z.Name)
	}
	table.Head = append(table.Head, "verdict")
	moves := report.Block{Heading: "Moves for each mix"}
	for _, r := range t.Rows {
		row := []string{fmt.Sprintf("%d. %s", r.Number, r.Name)}
		if r.Problem != "" {
			moves.Items = append(moves.Items, report.Item{Lead: row[0], Paragraphs: []string{"not read: " + r.Problem}})
			continue
		}
		row = append(row, report.Level(r.DistanceDB, 2), report.Level(r.DistanceAfterDB, 2))
		for _, z := range r.Zones {
			row = append(row, zoneCell(z))
		}
		table.Rows = append(table.Rows, append(row, r.Verdict.String()))
		text := settings(r)
		if text == "" {
			text = words.NoMoves(r.NoMoves)
		}
		moves.Items = append(moves.Items, report.Item{Lead: row[0], Paragraphs: []string{text}})
	}
	return report.Filled(table,
		report.Paragraphs("", "Zones: where each mix is over or under, in dB, level ignored; * off, ? too close to call.", report.Tolerance(t.WithinDB, len(t.References)), shared(t)),
		moves)
}

// zoneCell returns a zone's difference with the mark of its verdict.
func zoneCell(z match.ZoneVerdict) string {
	if z.Why == match.LeftOutZone {
		return z.Why.String()
	}
	return bareDifference(z.DifferenceDB) + verdictMarks[z.Verdict]
}
