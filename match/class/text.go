package class

import (
	"fmt"
	"io"
	"math"
	"strings"

	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/match/words"
)

// Text writes the table for a terminal of 80 columns. Each mix has its distance and verdict,
// then the zones over and under the references, and the moves. The error is w's.
func Text(w io.Writer, t *Table) error {
	p := &report.TextReport{}
	n := len(t.References)
	if t.Plain { // nothing distinguishes them
		fmt.Fprintf(p, "%-11s  %d, unnamed\n", words.Plural(n, "reference", "references"), n)
	} else {
		for i, name := range t.References {
			fmt.Fprintf(p, "%-11s  %s\n", match.ReferenceLabel(i, n), report.Shorten(name, report.Columns-len("reference 1  ")))
		}
	}
	const nameWidth = 44
	fmt.Fprintf(p, "\n  #  %s distance  verdict\n", report.Pad("mix", nameWidth))
	for _, r := range t.Rows {
		name := report.Pad(report.Shorten(r.Name, nameWidth), nameWidth)
		if r.Problem != "" {
			fmt.Fprintf(p, "%3d  %s        –  not read\n", r.Number, name)
			p.Paragraph(indent, r.Problem)
			continue
		}
		fmt.Fprintf(p, "%3d  %s %5.2f dB  %s\n", r.Number, name, r.DistanceDB, r.Verdict)
		if t.Blank {
			if text := t.sinceWords(r); text != "" {
				p.Paragraph(indent, text)
			}
			continue
		}
		parts(p, zoneWords(r.Zones))
		if len(r.Moves) == 0 {
			p.Paragraph(indent, words.NoMoves(r.NoMoves))
		} else {
			parts(p, moveWords(r))
		}
		for _, text := range t.remarks(r) {
			p.Paragraph(indent, text)
		}
	}
	p.WriteString("\n")
	if t.Blank {
		p.Paragraph("", "Zones and moves are in the solutions.")
		p.Paragraph("", Headline(t))
		if text := t.sinceSummary(); text != "" {
			p.Paragraph("", text)
		}
		return p.WriteOut(w)
	}
	p.Paragraph("", "Zones over and under the references in dB, level ignored: "+legend+".")
	p.Paragraph("", t.tolerance())
	p.Paragraph("", Headline(t))
	for _, text := range []string{t.sinceSummary(), shared(t)} {
		if text != "" {
			p.Paragraph("", text)
		}
	}
	return p.WriteOut(w)
}

// remarks returns the sentences below a mix's moves: what is left out, whether it lacks earlier moves, its largest gap
// and its earlier bounce.
func (t *Table) remarks(r Row) (all []string) {
	if text := leftOutWords(r); text != "" {
		all = append(all, text)
	}
	if text := doubtWords(r); text != "" {
		all = append(all, text)
	}
	if text := gapWords(r); text != "" {
		all = append(all, "largest gap: "+text)
	}
	if text := t.sinceWords(r); text != "" {
		all = append(all, text)
	}
	return all
}

// leftOutWords lists the zones that are left out, with the reasons, "" if there are none.
func leftOutWords(r Row) string {
	var all []string
	for _, z := range r.Zones {
		if z.Why == match.LeftOutZone {
			all = append(all, fmt.Sprintf("%s (%s)", z.Name, words.ExclusionInShort(z.LeftOut)))
		}
	}
	if all == nil {
		return ""
	}
	return match.LeftOutZone.String() + ": " + strings.Join(all, ", ")
}

// doubtWords returns what puts the moves in doubt, "" if nothing does: that a mix was not bounced through those of an earlier
// round, or is far from the references.
func doubtWords(r Row) string {
	for _, f := range r.Warnings {
		switch f.(type) {
		case match.NoTrace, match.FarApart:
			return words.Finding(f)
		}
	}
	return ""
}

// gapWords returns why the largest gap has no move, "" if a move deals with it.
func gapWords(r Row) string {
	if r.Gap == nil || r.Gap.Cause == match.Answered {
		return ""
	}
	if r.Gap.Cause == match.NoneSought { // the reason is printed above
		return r.Gap.Name + " " + words.FormatDifference(r.Gap.DifferenceDB)
	}
	return words.Gap(*r.Gap)
}

// indent begins a mix's lines.
const indent = "     "

// parts writes parts one after another and breaks lines only between them.
func parts(p *report.TextReport, all []string) {
	line := indent
	for i, part := range all {
		if i > 0 && len([]rune(line))+1+len([]rune(part)) > report.Columns {
			p.WriteString(strings.TrimRight(line, " ") + "\n")
			line = indent + "  "
		}
		if line == indent || line == indent+"  " {
			line += part
		} else {
			line += " " + part
		}
	}
	p.WriteString(line + "\n")
}

// marks and legend explain the marks of verdicts, which are the same in text, on the page and on the wall.
const (
	marks  = "* off, ! unusual, ? too close to call, ~ "
	legend = marks + report.WideOnly
)

// verdictMark follows a zone's difference; near enough has none unless it says little.
func verdictMark(z match.ZoneVerdict) string {
	if z.WideOnly() {
		return "~"
	}
	return map[match.Verdict]string{match.Differs: "*", match.Unusual: "!", match.CannotTell: "?"}[z.Verdict]
}

// verdictAloud is a verdictMark in words.
func verdictAloud(z match.ZoneVerdict) string {
	switch {
	case z.WideOnly():
		return " (near enough by a wide tolerance alone)"
	case verdictMark(z) == "":
		return ""
	}
	return " (" + z.Verdict.String() + ")"
}

// zoneWords returns the zones over the references, under them and level, for parts.
func zoneWords(zones []match.ZoneVerdict) []string {
	var over, under, level []string
	for _, z := range zones {
		mark := verdictMark(z)
		text := fmt.Sprintf("%s %.1f%s", z.Name, math.Abs(z.DifferenceDB), mark)
		switch {
		case z.Why == match.LeftOutZone:
		case words.IsZero(z.DifferenceDB):
			level = append(level, z.Name+mark)
		case z.DifferenceDB < 0:
			over = append(over, text)
		default:
			under = append(under, text)
		}
	}
	var all []string
	for _, group := range []struct {
		lead  string
		zones []string
	}{{"over: ", over}, {"under: ", under}, {"level: ", level}} {
		if len(group.zones) == 0 {
			continue
		}
		if n := len(all); n > 0 {
			all[n-1] += ";"
		}
		for i, zone := range group.zones {
			if i == 0 {
				zone = group.lead + zone
			}
			if i < len(group.zones)-1 {
				zone += ","
			}
			all = append(all, zone)
		}
	}
	return all
}

// Blocks returns the table for a page, to follow [Headline].
func Blocks(t *Table) []report.Block {
	return blocks(t, verdictMark, "; "+legend)
}

// TextAloud writes the table in lines that make sense one by one, see [report.BlocksAloud].
// [Text] has the same in columns.
func TextAloud(w io.Writer, t *Table) error {
	return report.BlocksAloud(w, Headline(t), append([]report.Block{report.Paragraphs("", referenceWords(t)...)}, blocks(t, verdictAloud, "")...)...)
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
func blocks(t *Table, mark func(match.ZoneVerdict) string, legend string) []report.Block {
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
			row = append(row, zoneCell(z, mark))
		}
		table.Rows = append(table.Rows, append(row, r.Verdict.String()))
		moves.Items = append(moves.Items, report.Item{Lead: row[0] + ":", Paragraphs: append([]string{advice(r)}, t.remarks(r)...)})
	}
	return report.Filled(table,
		report.Paragraphs("", "Zones: where each mix is over or under, in dB, level ignored"+legend+".", t.tolerance(), t.sinceSummary(), shared(t)),
		moves)
}

func zoneCell(z match.ZoneVerdict, mark func(match.ZoneVerdict) string) string {
	if z.Why == match.LeftOutZone {
		return z.Why.String()
	}
	return words.BareDifference(z.DifferenceDB) + mark(z)
}
