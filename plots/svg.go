package plots

import (
	"bytes"
	"cmp"
	"encoding/xml"
	"io"
	"strconv"

	"gonum.org/v1/plot/vg"
)

// WriteSVG draws the figure as WritePNG does, as an SVG document. Every word is
// an outline, so that no typeface is needed; the title stands once more as text
// for programs that read pictures aloud. The viewBox counts in pixels of the
// PNG; width and height are inches by the DPI. The document has no XML
// declaration and no outside references and may stand inside a page as it is.
//
// Errors and panics are those of WritePNG.
// Source of the elements: W3C, Scalable Vector Graphics (SVG) 2, 5.7 title and
// 13 painting; of the role: W3C, SVG Accessibility API Mappings.
func (f *Figure) WriteSVG(w io.Writer) error {
	g := f.withDefaults()
	if err := g.check(); err != nil {
		return err
	}
	width, height := vg.Length(g.WidthPx), vg.Length(g.HeightPx)
	c := newOutlines(height)
	if err := g.draw(c, width, height); err != nil {
		return err
	}
	c.flush()

	var file bytes.Buffer
	attribute := func(name, value string) { file.WriteString(" " + name + `="` + value + `"`) }
	inches := func(px int) string { return strconv.FormatFloat(float64(px)/g.DPI, 'f', 4, 64) + "in" }
	file.WriteString("<svg")
	attribute("xmlns", "http://www.w3.org/2000/svg")
	attribute("width", inches(g.WidthPx))
	attribute("height", inches(g.HeightPx))
	attribute("viewBox", "0 0 "+strconv.Itoa(g.WidthPx)+" "+strconv.Itoa(g.HeightPx))
	attribute("role", "img")
	file.WriteString(">\n<title>")
	name := cmp.Or(g.Title, g.Panels[0].Title, "decibels over frequency")
	if err := xml.EscapeText(&file, []byte(name)); err != nil {
		return err
	}
	file.WriteString("</title>\n<path")
	attribute("fill", hex(g.tones().paper))
	file.WriteString(` d="M0 0h` + strconv.Itoa(g.WidthPx) + "v" + strconv.Itoa(g.HeightPx) + "H0z\"/>\n")
	// Joins and ends of lines as the PNG has them.
	file.WriteString("<g fill=\"none\" stroke-linejoin=\"round\" stroke-linecap=\"butt\">\n")
	file.Write(c.body.Bytes())
	file.WriteString("</g>\n</svg>\n")
	_, err := w.Write(file.Bytes())
	return err
}
