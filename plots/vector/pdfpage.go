package vector

import (
	"bytes"
	"fmt"
	"image/color"
	"strconv"

	"gonum.org/v1/plot/vg"
)

// pdfPage is the [Surface] of a page of a PDF, in pixels of the PNG with y upwards.
// Source of the operators: ISO 32000-1:2008, Annex A.
type pdfPage struct {
	pen
	doc  *PDF
	body bytes.Buffer
	set  map[string]string // the operators in force, by what they set

	top, part *pdfElement   // the whole page, and what is drawn now
	marked    bool          // the content is inside of a mark
	marks     []*pdfElement // of each piece of content its part
}

func newPDFPage(d *PDF) *pdfPage {
	// The initial state of a page, 8.4.1: opaque, no dashes.
	top := &pdfElement{Part: Part{Role: Section}}
	return &pdfPage{pen: newPen(), doc: d, set: map[string]string{"gs": pdfState(255), "d": "[] 0 d\n"}, top: top, part: top}
}

// use writes an operator unless it is already in force.
func (c *pdfPage) use(what, operator string) {
	if c.set[what] != operator {
		c.set[what] = operator
		c.body.WriteString(operator)
	}
}

func (c *pdfPage) Fill(p vg.Path) {
	if len(p) == 0 {
		return
	}
	c.mark()
	c.filling()
	c.path(p)
	c.body.WriteString("f\n")
}

// opacity sets the opacity of the current colour.
func (c *pdfPage) opacity() {
	c.doc.alphas[c.now.colour.A] = true
	c.use("gs", pdfState(c.now.colour.A))
}

// filling sets the current colour for filling.
func (c *pdfPage) filling() {
	c.opacity()
	c.use("rg", pdfColour(c.now.colour)+"rg\n")
}

func (c *pdfPage) Stroke(p vg.Path) {
	if len(p) == 0 || c.now.width <= 0 {
		return
	}
	c.mark()
	c.opacity()
	c.use("RG", pdfColour(c.now.colour)+"RG\n")
	c.use("w", string(appendHundredths(nil, hundredths(c.now.width)))+" w\n")
	c.use("d", "["+c.now.dash+"] 0 d\n")
	c.path(p)
	c.body.WriteString("S\n")
}

// path writes a path where the page has it.
func (c *pdfPage) path(p vg.Path) { c.body.Write(appendPath(c.body.AvailableBuffer(), p, c.now.place)) }

// appendPath appends the operators of a path whose points are placed by place, rounded to
// hundredths.
func appendPath(dst []byte, p vg.Path, place func(vg.Point) vg.Point) []byte {
	var at vg.Point
	write := func(operator byte, points ...vg.Point) {
		for _, q := range points {
			q = place(q)
			dst = append(appendHundredths(dst, hundredths(q.X)), ' ')
			dst = append(appendHundredths(dst, hundredths(q.Y)), ' ')
		}
		dst = append(dst, operator, '\n')
	}
	for _, comp := range p {
		switch comp.Type {
		case vg.MoveComp:
			write('m', comp.Pos)
		case vg.LineComp:
			write('l', comp.Pos)
		case vg.CurveComp:
			control := comp.Control
			if len(control) == 1 {
				control = raised(at, control[0], comp.Pos)
			}
			write('c', control[0], control[1], comp.Pos)
		case vg.CloseComp:
			write('h')
		default:
			panic("vector: a page knows no arcs")
		}
		at = comp.Pos
	}
	return dst
}

// raised returns the control points of the cubic curve that equals a quadratic one.
func raised(from, control, to vg.Point) []vg.Point {
	return []vg.Point{along(from, control, 2.0/3), along(to, control, 2.0/3)}
}

// along returns the point at a fraction of the way from a to b.
func along(a, b vg.Point, fraction vg.Length) vg.Point {
	return a.Add(b.Sub(a).Scale(fraction))
}

// number writes n/100.
func (c *pdfPage) number(n int) {
	c.body.Write(append(appendHundredths(c.body.AvailableBuffer(), n), ' '))
}

// Words writes a line of printable text, starting from a point on its baseline.
func (c *pdfPage) Words(l *Letters, txt string, size vg.Length, at vg.Point) {
	c.mark()
	c.filling()
	at = c.now.place(at)
	turn := func(x float64) string { return strconv.FormatFloat(x+0, 'f', -1, 32) }
	fmt.Fprintf(&c.body, "BT\n%s %s %s %s ", turn(c.now.cos), turn(c.now.sin), turn(0-c.now.sin), turn(c.now.cos))
	c.number(hundredths(at.X))
	c.number(hundredths(at.Y))
	c.body.WriteString("Tm\n")
	last, face := rune(-1), -1
	for _, r := range txt {
		i, code := c.doc.letter(l, r)
		if i != face {
			if face >= 0 {
				c.body.WriteString(">]TJ\n")
			}
			fmt.Fprintf(&c.body, "/%s %s Tf\n[<", pdfFontName(i), appendHundredths(nil, hundredths(size)))
			face = i
		}
		if last >= 0 {
			if k := l.kern(last, r); k != 0 {
				fmt.Fprintf(&c.body, ">%s<", strconv.FormatFloat(-1000*k, 'f', 1, 64)) // thousandths of an em, 9.4.3
			}
		}
		fmt.Fprintf(&c.body, "%02x", code)
		last = r
	}
	if face >= 0 {
		c.body.WriteString(">]TJ\n")
	}
	c.body.WriteString("ET\n")
}

// pdfColour returns red, green and blue as numbers, each with a blank after it.
func pdfColour(c color.NRGBA) string {
	return pdfShare(c.R) + " " + pdfShare(c.G) + " " + pdfShare(c.B) + " "
}

// pdfShare returns n/255 as a number.
func pdfShare(n uint8) string {
	return strconv.FormatFloat(float64(n)/255, 'f', 3, 64)
}

// pdfState returns the operator that sets the opacity.
func pdfState(alpha uint8) string { return "/" + pdfStateName(alpha) + " gs\n" }

func pdfStateName(alpha uint8) string { return "a" + strconv.Itoa(int(alpha)) }
