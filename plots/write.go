package plots

import (
	"cmp"
	"errors"
	"io"

	"gonum.org/v1/plot/vg"

	"toneplumb/plots/vector"
)

// WritePNG writes the figure as a PNG in up to 256 colours. The error is w's or, with nothing
// written, one about the figure: a size or resolution out of range, no panel, or text that
// leaves no room for the panels.
//
// It panics if frequencies do not rise or differ in number from the decibels, if a table or a
// grid is inconsistent, or if a panel's share or axis is impossible. A panel without a single
// value to draw is not an error: the panel says so.
func (f *Figure) WritePNG(w io.Writer) error { return f.write(w, blankPNG) }

// WriteSVG writes the figure as an SVG document, with all text as outlines except letters that
// the typeface lacks. Errors and panics are those of [Figure.WritePNG].
func (f *Figure) WriteSVG(w io.Writer) error { return f.write(w, blankSVG) }

// Lack reports whether a text has letters that the built-in typeface lacks. PNG and PDF show
// them as boxes; in an SVG the viewer draws them.
func Lack(text string) bool { return vector.NewLetters(false).Lack(text) }

// document is a surface whose drawing can be written to a file.
type document interface {
	vector.Surface
	io.WriterTo
}

func blankPNG(s vector.Sheet) document { return vector.NewPicture(s) }
func blankSVG(s vector.Sheet) document { return vector.NewSVG(s) }

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

// AxisPx returns where the frequency axis begins and ends, at [MinHz] and [MaxHz], in pixels from
// the left edge. Errors and panics are those of [Figure.WritePNG].
func (f *Figure) AxisPx() (left, right float64, err error) {
	g := f.withDefaults()
	if err := g.check(); err != nil {
		return 0, 0, err
	}
	p, err := g.arrange(vector.NewSVG(g.paper()), vg.Length(g.WidthPx), vg.Length(g.HeightPx))
	if err != nil {
		return 0, 0, err
	}
	area := p.diagrams[0].area
	return float64(area.Min.X), float64(area.Max.X), nil
}

// paper returns the sheet that a figure is drawn on.
func (f *Figure) paper() vector.Sheet {
	title := f.Title
	if title == "" && len(f.Panels) > 0 {
		title = f.Panels[0].Title
	}
	return vector.Sheet{WidthPx: f.WidthPx, HeightPx: f.HeightPx, DPI: f.DPI,
		Title: cmp.Or(title, "decibels over frequency"), Alt: f.describe(), Paper: f.tones().paper}
}

// WritePDF writes a PDF with each figure on a page of its own, with the same layout as
// [Figure.WritePNG], as lines instead of pixels. A page has the size at which the PNG would
// be printed. The document has the title of its first page. Errors and panics are those of
// WritePNG; without pages it returns an error.
func WritePDF(w io.Writer, pages ...*Figure) error {
	if len(pages) == 0 {
		return errors.New("a document needs a page")
	}
	var checked []Figure
	for _, f := range pages {
		checked = append(checked, f.withDefaults())
		if err := checked[len(checked)-1].check(); err != nil {
			return err
		}
	}
	d := vector.NewPDF(w)
	for _, g := range checked {
		err := d.Page(g.paper(), func(c vector.Surface) error { return g.draw(c, vg.Length(g.WidthPx), vg.Length(g.HeightPx)) })
		if err != nil {
			return err
		}
	}
	return d.Close(cmp.Or(pages[0].Title, "decibels over frequency"))
}
