package report

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// Block is a piece of a result for a page: a table, paragraphs, or both.
type Block struct {
	Heading string     `json:"heading"` // "" for none
	Head    []string   `json:"head"`    // of the table's columns
	Rows    [][]string `json:"rows"`    // the first cell is the row's name; empty for no table
	Items   []Item     `json:"items"`
}

// Item is one or more paragraphs. Lead comes before the first, in bold.
type Item struct {
	Lead       string   `json:"lead"`
	Paragraphs []string `json:"paragraphs"`
}

// Paragraphs returns a block with one paragraph for each sentence that is not empty. The block
// is empty if there is none.
func Paragraphs(heading string, sentences ...string) Block {
	b := Block{Heading: heading}
	for _, s := range sentences {
		if s != "" {
			b.Items = append(b.Items, Item{Paragraphs: []string{s}})
		}
	}
	return b
}

// Filled returns the blocks that have rows or items.
func Filled(blocks ...Block) []Block {
	return slices.DeleteFunc(slices.Clone(blocks), func(b Block) bool { return len(b.Rows)+len(b.Items) == 0 })
}

// WatchOut is the heading of the findings worth acting on.
const WatchOut = "Watch out"

// CheckBlocks returns a check for a page, the zones first, to follow its chart and
// [CheckSentence].
func CheckBlocks(k *match.Check) []Block {
	zones := Block{Head: []string{"zone", "the mix is", "likely range", "tolerance", "verdict"}}
	for _, z := range k.Zones {
		c := zoneCells(z)
		if z.Why == match.LeftOutZone { // which is its verdict
			c = [4]string{3: c[0]}
		}
		zones.Rows = append(zones.Rows, append([]string{z.Name}, c[:]...))
	}
	all := []Block{zones}
	if p := k.Since; p != nil {
		since := Paragraphs("Since "+p.Before.Mix.Name, progressSentences(p)...)
		since.Head, since.Rows = []string{"zone", "it was", "it is", "moved by", "so it is"}, progressRows(p)
		all = append(all, since)
	}
	recordings := checkedRecordings(k)
	names := roles(recordings)
	return Filled(append(all,
		Paragraphs("", checkSentences(k)...),
		Paragraphs(WatchOut, words.Findings(k.Warnings)...),
		Paragraphs("Side and mid", words.SideFindings(k.Sides, len(k.References))...),
		Block{Heading: "For comparison, without a verdict", Head: append([]string{"figure"}, names...), Rows: factRows(recordings)},
		Block{Heading: "Mid above side, dB", Head: append([]string{"zone"}, names...), Rows: widthRows(recordings)})...)
}

// NearestBlocks returns a ranking of references for a page, to follow [NearestHeadline].
func NearestBlocks(all []match.RankedReference, warnings finding.List) []Block {
	ranked := Block{Head: []string{"reference", "distance, dB", "low end, dB", "width, dB", "range, LU"}}
	for i, n := range all {
		ranked.Rows = append(ranked.Rows, []string{fmt.Sprintf("%d. %s", i+1, n.Reference.Name),
			Level(n.DistanceDB, 1), Level(n.LowEndDB, 1), Level(n.WidthDB, 1), Level(n.RangeLU, 1)})
	}
	return Filled(ranked, Paragraphs("", ranking), Paragraphs(WatchOut, words.Findings(warnings)...), Paragraphs("", nearestTerms))
}

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
func NearestAloud(w io.Writer, mix *measure.Recording, all []match.RankedReference, warnings finding.List) error {
	return BlocksAloud(w, NearestHeadline(all), append([]Block{Recordings(mix, nil)}, NearestBlocks(all, warnings)...)...)
}
