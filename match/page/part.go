package page

import "html/template"

// Part is a section that a command adds to the page, after the moves.
type Part struct {
	Heading string
	// InsteadOfMoves says why the page shows no moves; "" leaves them.
	InsteadOfMoves string
	Title          string // of the page that has this part; "" leaves that of a match
	Chart          func(dark bool) (svg string, err error)
	InWords        string // what the chart shows, for those who do not see it
	Blocks         []Block
	Light          template.HTML // the chart, drawn by Write
	Dark           template.HTML
}

// Block is text of a part under a heading of its own; "" for none.
type Block struct {
	Heading string
	Head    []string   // of the table
	Rows    [][]string // the first cell is a name, the others numbers; none: no table
	Items   []Item
}

// Item is one or more paragraphs; the lead stands before the first, in bold.
type Item struct {
	Lead       string
	Paragraphs []string
}

// draw draws the chart on light and dark paper.
func (p *Part) draw() error {
	for _, paper := range []struct {
		dark bool
		to   *template.HTML
	}{{false, &p.Light}, {true, &p.Dark}} {
		svg, err := p.Chart(paper.dark)
		if err != nil {
			return err
		}
		if svg, err = inWords(svg, p.Heading, p.InWords); err != nil {
			return err
		}
		*paper.to = template.HTML(svg)
	}
	return nil
}
