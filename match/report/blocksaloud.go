package report

import (
	"io"
	"slices"
	"strings"

	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/spectrum/measure"
)

// BlocksAloud writes a headline and blocks in lines that make sense one by one, as [TextAloud]
// does: of a table, each row is a line that names its cells by the heads of their columns. The
// error is w's.
func BlocksAloud(w io.Writer, headline string, blocks ...Block) error {
	var t TextReport
	t.Paragraph("", headline)
	for _, b := range Filled(blocks...) {
		t.WriteString("\n")
		if b.Heading != "" {
			t.Paragraph("", b.Heading+":")
		}
		for _, row := range b.Rows {
			t.Paragraph("", rowAloud(b.Head, row))
		}
		t.items(b.Items)
	}
	return t.WriteOut(w)
}

// items adds the paragraphs of items, each after its lead.
func (p *TextReport) items(all []Item) {
	for _, item := range all {
		lead := item.Lead + " "
		for _, text := range item.Paragraphs {
			p.Paragraph("", lead+text)
			lead = ""
		}
	}
}

// noFigure is the cell of a figure that does not exist.
const noFigure = "–"

// rowAloud returns a row of a table in one line. The unit of a head like "distance, dB" follows
// the figure.
func rowAloud(head, row []string) string {
	lead := words.UpperFirst(head[0]) + " "
	if row[0] == "no "+head[0] || strings.HasPrefix(row[0], head[0]+" ") { // as "track 1" in a table of tracks
		lead = ""
	}
	if !slices.ContainsFunc(row[1:], func(cell string) bool { return cell != noFigure }) {
		return lead + row[0] + ": no figures."
	}
	var cells []string
	for i, cell := range row[1:] {
		name, unit, _ := strings.Cut(head[i+1], ", ")
		switch cell {
		case "":
			continue
		case noFigure:
			cell, unit = "no figure", ""
		}
		cells = append(cells, strings.TrimSpace(name+" "+cell+" "+unit))
	}
	return lead + row[0] + ": " + strings.Join(cells, ", ") + "."
}

// CheckAloud writes a check as [BlocksAloud] does. [Check] has the same in columns.
func CheckAloud(w io.Writer, k *match.Check) error {
	return BlocksAloud(w, CheckSentence(k), append([]Block{recordingsAloud(checkedRecordings(k))}, CheckBlocks(k)...)...)
}

// NearestAloud writes a ranking of references as [BlocksAloud] does. [Nearest] has the same in
// columns.
func NearestAloud(w io.Writer, mix *measure.Recording, all []match.RankedReference) error {
	return BlocksAloud(w, NearestHeadline(all), append([]Block{Recordings(mix, nil)}, NearestBlocks(mix, all)...)...)
}
