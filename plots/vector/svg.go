package vector

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image/color"
	"io"
	"math"
	"strconv"

	"gonum.org/v1/plot/vg"
)

// SVG is a [Surface] that writes paths as SVG. Consecutive lines that look the same share one
// element.
type SVG struct {
	pen
	sheet  Sheet
	height vg.Length
	body   bytes.Buffer

	run string // attributes of the current element
	d   []byte // its path
}

// NewSVG returns a blank drawing of the sheet's size.
func NewSVG(s Sheet) *SVG { return &SVG{sheet: s, height: vg.Length(s.HeightPx), pen: newPen()} }

// Words fills the outlines of a line of printable text, starting from a point on its
// baseline, so that no typeface is needed. Letters that [Letters] lacks are written as text
// in the viewer's sans-serif, as wide as the boxes in the other formats.
func (c *SVG) Words(l *Letters, txt string, size vg.Length, at vg.Point) {
	for _, run := range l.runs(txt) {
		if run.lacking {
			c.text(l, run.txt, size, at)
		} else {
			c.Fill(l.Path(run.txt, size, at))
		}
		at.X += vg.Length(l.Width(run.txt)) * size
	}
}

// text writes letters as text. Source of the element: W3C, SVG 2, 11.2 text, 11.5 textLength.
func (c *SVG) text(l *Letters, txt string, size vg.Length, at vg.Point) {
	c.flush()
	weight := ""
	if l.bold {
		weight = ` font-weight="bold"`
	}
	number := func(x vg.Length) string { return string(appendHundredths(nil, hundredths(x))) }
	at = c.now.place(at)
	turn := ""
	x, y := number(at.X), number(c.height-at.Y)
	if degrees := math.Round(-math.Atan2(c.now.sin, c.now.cos) * 180 / math.Pi); degrees != 0 {
		turn = fmt.Sprintf(` transform="rotate(%g %s %s)"`, degrees, x, y)
	}
	fmt.Fprintf(&c.body, `<text%s x="%s" y="%s"%s font-family="sans-serif" font-size="%s"%s textLength="%s" lengthAdjust="spacingAndGlyphs">`,
		paint("fill", c.now.colour), x, y, turn, number(size), weight, number(vg.Length(l.Width(txt))*size))
	xml.EscapeText(&c.body, []byte(txt)) // a buffer takes everything
	c.body.WriteString("</text>\n")
}

// WriteTo writes the document. The viewBox is in pixels; width and height are in inches by
// the resolution. It has no XML declaration and no external references, so it can be placed
// inside an HTML page unchanged. Title and description are text for screen readers.
//
// Source of the elements: W3C, Scalable Vector Graphics (SVG) 2, 5.7 title and desc and
// 13 painting; of the role: W3C, SVG Accessibility API Mappings.
func (c *SVG) WriteTo(w io.Writer) (int64, error) {
	c.flush()
	s := c.sheet
	inches := func(px int) string { return strconv.FormatFloat(float64(px)/s.DPI, 'f', 4, 64) + "in" }
	escaped := func(txt string) string {
		var b bytes.Buffer
		xml.EscapeText(&b, []byte(txt)) // a buffer takes everything
		return b.String()
	}
	var file bytes.Buffer
	fmt.Fprintf(&file, `<svg xmlns="http://www.w3.org/2000/svg" width="%s" height="%s" viewBox="0 0 %d %d" role="img">
<title>%s</title>
<desc>%s</desc>
<path fill="%s" d="M0 0h%dv%dH0z"/>
`, inches(s.WidthPx), inches(s.HeightPx), s.WidthPx, s.HeightPx, escaped(s.Title), escaped(s.Alt), hex(s.Paper), s.WidthPx, s.HeightPx)
	// Joins and ends of lines as in the PNG.
	file.WriteString("<g fill=\"none\" stroke-linejoin=\"round\" stroke-linecap=\"butt\">\n")
	file.Write(c.body.Bytes())
	file.WriteString("</g>\n</svg>\n")
	return file.WriteTo(w)
}

// Fill writes an element of its own, so that texts are separate elements for editing.
func (c *SVG) Fill(p vg.Path) {
	if len(p) == 0 {
		return
	}
	c.flush()
	c.run = paint("fill", c.now.colour)
	c.path(p)
	c.flush()
}

func (c *SVG) Stroke(p vg.Path) {
	if len(p) == 0 || c.now.width <= 0 {
		return
	}
	run := paint("stroke", c.now.colour) + ` stroke-width="` + string(appendHundredths(nil, hundredths(c.now.width))) + `"`
	if c.now.dash != "" {
		run += ` stroke-dasharray="` + c.now.dash + `"`
	}
	// Overlapping lines in one translucent element would not add up.
	if run != c.run || c.now.colour.A < 255 {
		c.flush()
		c.run = run
	}
	c.path(p)
}

// flush writes the current element.
func (c *SVG) flush() {
	if len(c.d) > 0 {
		c.body.WriteString("<path" + c.run + ` d="`)
		c.body.Write(c.d)
		c.body.WriteString("\"/>\n")
	}
	c.run, c.d = "", c.d[:0]
}

func paint(what string, colour color.NRGBA) string {
	txt := " " + what + `="` + hex(colour) + `"`
	if colour.A < 255 {
		txt += " " + what + `-opacity="` + strconv.FormatFloat(float64(colour.A)/255, 'f', 3, 64) + `"`
	}
	return txt
}

func hex(c color.NRGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

// path appends path data: the first point absolute, all others relative to the
// one before, in pixels with two decimals, y downwards.
// Source: W3C, SVG 2, 9.3 path data.
func (c *SVG) path(p vg.Path) {
	var at, begin [2]int
	point := func(q vg.Point) [2]int {
		q = c.now.place(q)
		return [2]int{hundredths(q.X), hundredths(c.height - q.Y)}
	}
	var last byte
	command := func(letter byte, from [2]int, to ...[2]int) {
		if letter != last {
			c.d = append(c.d, letter)
		}
		for i, q := range to {
			if letter == last || i > 0 {
				c.d = appendSeparated(c.d, q[0]-from[0])
			} else {
				c.d = appendHundredths(c.d, q[0]-from[0])
			}
			c.d = appendSeparated(c.d, q[1]-from[1])
		}
		last = letter
	}
	for _, comp := range p {
		to := point(comp.Pos)
		switch comp.Type {
		case vg.MoveComp:
			last = 0
			command('M', [2]int{}, to)
			begin = to
		case vg.LineComp:
			command('l', at, to)
		case vg.CurveComp:
			if len(comp.Control) == 1 {
				command('q', at, point(comp.Control[0]), to)
			} else {
				command('c', at, point(comp.Control[0]), point(comp.Control[1]), to)
			}
		case vg.CloseComp:
			c.d = append(c.d, 'z')
			last, to = 0, begin
		default:
			panic("vector: an SVG knows no arcs")
		}
		at = to
	}
}

func hundredths(x vg.Length) int { return int(math.Round(float64(x) * 100)) }

// appendSeparated appends n/100, with a blank before it unless it begins with a sign.
func appendSeparated(dst []byte, n int) []byte {
	if n >= 0 {
		dst = append(dst, ' ')
	}
	return appendHundredths(dst, n)
}

// appendHundredths appends n/100 in the fewest characters.
func appendHundredths(dst []byte, n int) []byte {
	if n < 0 {
		dst, n = append(dst, '-'), -n
	}
	if n >= 100 || n == 0 {
		dst = strconv.AppendInt(dst, int64(n/100), 10)
	}
	if n %= 100; n > 0 {
		dst = append(dst, '.', byte('0'+n/10))
		if n%10 > 0 {
			dst = append(dst, byte('0'+n%10))
		}
	}
	return dst
}
