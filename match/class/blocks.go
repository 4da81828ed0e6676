package class

import (
	"fmt"
	"io"

	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/match/words"
)

// Blocks returns the table for a page, to follow [Headline].
func Blocks(t *Table) []report.Block {
	return blocks(t, verdictMarks, "; * off, ! unusual, ? too close to call")
}

// TextAloud writes the table in lines that make sense one by one, see [report.BlocksAloud].
// [Text] has the same in columns.
func TextAloud(w io.Writer, t *Table) error {
	verdicts := map[match.Verdict]string{}
	for verdict := range verdictMarks {
		verdicts[verdict] = " (" + verdict.String() + ")"
	}
	return report.BlocksAloud(w, Headline(t), append([]report.Block{report.Paragraphs("", referenceWords(t)...)}, blocks(t, verdicts, "")...)...)
}

// referenceWords returns a line for each reference, or their number if they have no names.
func referenceWords(t *Table) []string {
	if t.Plain {
		return []string{words.Count(len(t.References), "reference") + ", unnamed"}
	}
	var all []string
	for i, name := range t.References {
		all = append(all, match.ReferenceLabel(i, len(t.References))+": "+name)
	}
	return all
}

// blocks returns the table, with a mark after each zone's difference by its verdict. legend
// explains the marks.
func blocks(t *Table, marks map[match.Verdict]string, legend string) []report.Block {
	table := report.Block{Head: []string{"mix", "distance, dB", "with moves, dB"}}
	for _, z := range match.Zones() {
		table.Head = append(table.Head, z.Name)
	}
	table.Head = append(table.Head, "verdict")
	moves := report.Block{Heading: "Moves for each mix"}
	for _, r := range t.Rows {
		row := []string{fmt.Sprintf("%d. %s", r.Number, r.Name)}
		if r.Problem != "" {
			moves.Items = append(moves.Items, report.Item{Lead: row[0] + ":", Paragraphs: []string{"not read: " + r.Problem}})
			continue
		}
		row = append(row, report.Level(r.DistanceDB, 2), report.Level(r.DistanceAfterDB, 2))
		for _, z := range r.Zones {
			row = append(row, zoneCell(z, marks))
		}
		table.Rows = append(table.Rows, append(row, r.Verdict.String()))
		moves.Items = append(moves.Items, report.Item{Lead: row[0] + ":", Paragraphs: append([]string{advice(r)}, t.remarks(r)...)})
	}
	return report.Filled(table,
		report.Paragraphs("", "Zones: where each mix is over or under, in dB, level ignored"+legend+".", t.tolerance(), t.sinceSummary(), shared(t)),
		moves)
}

func zoneCell(z match.ZoneVerdict, marks map[match.Verdict]string) string {
	if z.Why == match.LeftOutZone {
		return z.Why.String()
	}
	return words.BareDifference(z.DifferenceDB) + marks[z.Verdict]
}
