package plots

import (
	"cmp"
	"errors"
	"io"

	"gonum.org/v1/plot/vg"

	"toneplumb/plots/vector"
)

// WritePNG draws the figure as a picture in up to 256 colours. Nothing is written if it
// returns an error of its own: a size or resolution out of range, no panel, or words that
// leave no room for the panels.
//
// It panics if frequencies do not rise or differ in number from the decibels,
// if a table row is longer than the header, or if a panel's share or axis makes
// no sense. Curves without a single value to draw are no error: the panel says
// so.
func (f *Figure) WritePNG(w io.Writer) error {
	return f.write(w, func(s vector.Sheet) document { return vector.NewPicture(s) })
}

// WriteSVG draws the figure as [Figure.WritePNG] does, as an SVG document, with every word an
// outline but for letters that the typeface lacks. Errors and panics are those of WritePNG.
func (f *Figure) WriteSVG(w io.Writer) error {
	return f.write(w, func(s vector.Sheet) document { return vector.NewSVG(s) })
}

// Lack reports whether pictures and pages show boxes in place of letters of a text. An SVG
// leaves such letters to its viewer.
func Lack(text string) bool { return vector.NewLetters(false).Lack(text) }

// document is a surface that can be written once it is drawn on.
type document interface {
	vector.Surface
	io.WriterTo
}

func (f *Figure) write(w io.Writer, blank func(vector.Sheet) document) error {
	g := f.withDefaults()
	if err := g.check(); err != nil {
		return err
	}
	c := blank(g.paper())
	if err := g.draw(c, vg.Length(g.WidthPx), vg.Length(g.HeightPx)); err != nil {
		return err
	}
	_, err := c.WriteTo(w)
	return err
}

// paper is the sheet that a figure is drawn on.
func (f *Figure) paper() vector.Sheet {
	title := f.Title
	if title == "" && len(f.Panels) > 0 {
		title = f.Panels[0].Title
	}
	return vector.Sheet{WidthPx: f.WidthPx, HeightPx: f.HeightPx, DPI: f.DPI,
		Title: cmp.Or(title, "decibels over frequency"), Paper: f.tones().paper}
}

// WritePDF draws each figure on a page of its own, as [Figure.WritePNG] draws it but with
// lines in place of pixels; a page is as large as the PNG would print. The document's title
// is the first page's. Errors and panics are those of WritePNG, and no page at all is an
// error.
func WritePDF(w io.Writer, pages ...*Figure) error {
	if len(pages) == 0 {
		return errors.New("a document needs a page")
	}
	for _, f := range pages {
		g := f.withDefaults()
		if err := g.check(); err != nil {
			return err
		}
	}
	d := vector.NewPDF(w)
	for _, f := range pages {
		g := f.withDefaults()
		err := d.Page(g.paper(), func(c vector.Surface) error { return g.draw(c, vg.Length(g.WidthPx), vg.Length(g.HeightPx)) })
		if err != nil {
			return err
		}
	}
	return d.Close(cmp.Or(pages[0].Title, "decibels over frequency"))
}
