package page

import (
	"html/template"

	"toneplumb/match/report"
)

// Part is a section that a command adds to the page, after the moves.
type Part struct {
	Heading string
	// InsteadOfMoves says why the page shows no moves; "" shows them.
	InsteadOfMoves string
	Title          string                                     // title of the page; "" keeps that of a match
	Charts         func(dark bool) (svgs []string, err error) // one under another
	InWords        string                                     // description of the charts, for people who do not see it
	Blocks         []report.Block
	Light          template.HTML // the charts, drawn by Write
	Dark           template.HTML
}

func (p *Part) draw() (err error) {
	p.Light, p.Dark, err = onBothPapers(p.Heading, p.InWords, p.Charts)
	return err
}
