package vector

import (
	"fmt"
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg"
)

// pdfElement is a part of a page in the document's tree of parts.
// Source: ISO 32000-1:2008, 14.6 marked content, 14.7 logical structure, 14.8 tagged PDF.
type pdfElement struct {
	Part
	parent *pdfElement
	number int      // of its object
	kids   []pdfKid // in the order of reading
}

// pdfKid is a part, or a piece of the page's content by its number.
type pdfKid struct {
	part    *pdfElement // nil: content
	content int
}

// Begin implements [Reader].
func (c *pdfPage) Begin(p Part) {
	c.unmark()
	e := &pdfElement{Part: p, parent: c.part}
	c.part.kids = append(c.part.kids, pdfKid{part: e})
	c.part = e
}

// End implements [Reader].
func (c *pdfPage) End() {
	c.unmark()
	c.part = c.part.parent
}

// mark says to which part the content that follows belongs.
func (c *pdfPage) mark() {
	switch {
	case c.marked:
	case c.part.Role.holdsParts():
		c.body.WriteString(pdfDecoration)
	default:
		fmt.Fprintf(&c.body, "/%s<</MCID %d>>BDC\n", c.part.Role, len(c.marks))
		c.part.kids = append(c.part.kids, pdfKid{content: len(c.marks)})
		c.marks = append(c.marks, c.part)
	}
	c.marked = true
}

const pdfDecoration = "/Artifact BMC\n"

func (c *pdfPage) unmark() {
	if c.marked {
		c.body.WriteString("EMC\n")
	}
	c.marked = false
}

// writeParts writes the parts of a page, whose object has a number, and notes for each piece
// of its content the part. Lengths on the page are scaled to points.
func (d *PDF) writeParts(c *pdfPage, page int, points float64) {
	for _, e := range c.top.all() {
		e.number = d.reserve()
	}
	for _, e := range c.top.all() {
		above := pdfDocument
		if e.parent != nil {
			above = e.parent.number
		}
		var kids strings.Builder
		for _, k := range e.kids {
			if k.part != nil {
				fmt.Fprintf(&kids, "%d 0 R ", k.part.number)
			} else {
				fmt.Fprintf(&kids, "%d ", k.content)
			}
		}
		d.object(e.number, fmt.Sprintf("<</Type/StructElem/S/%s/P %d 0 R/Pg %d 0 R/K[%s]%s>>", e.Role, above, page, &kids, e.attributes(points)))
	}
	var owners strings.Builder
	for _, e := range c.marks {
		fmt.Fprintf(&owners, "%d 0 R ", e.number)
	}
	n := d.reserve()
	d.object(n, "["+owners.String()+"]")
	d.sections, d.owners = append(d.sections, c.top.number), append(d.owners, n)
}

// all returns a part and those in it, in the order of reading.
func (e *pdfElement) all() []*pdfElement {
	all := []*pdfElement{e}
	for _, k := range e.kids {
		if k.part != nil {
			all = append(all, k.part.all()...)
		}
	}
	return all
}

// attributes of a part, 14.8.5: where it is, what it shows, which cells it heads or spans.
func (e *pdfElement) attributes(points float64) string {
	txt := ""
	if e.Alt != "" {
		txt = "/Alt<" + pdfText("\ufeff"+oneLine(e.Alt)) + ">"
	}
	switch {
	case e.Box != vg.Rectangle{}:
		at := func(x vg.Length) string { return strconv.FormatFloat(float64(x)*points, 'f', 1, 64) }
		txt += fmt.Sprintf("/A<</O/Layout/Placement/Block/BBox[%s %s %s %s]>>", at(e.Box.Min.X), at(e.Box.Min.Y), at(e.Box.Max.X), at(e.Box.Max.Y))
	case e.Role == HeadCell:
		txt += "/A<</O/Table/Scope/Column>>"
	case e.Span > 1:
		txt += fmt.Sprintf("/A<</O/Table/ColSpan %d>>", e.Span)
	}
	return txt
}

// writeTree writes the root of the parts of all pages.
func (d *PDF) writeTree() {
	var sections, owners strings.Builder
	for page, n := range d.sections {
		fmt.Fprintf(&sections, "%d 0 R ", n)
		fmt.Fprintf(&owners, "%d %d 0 R ", page, d.owners[page])
	}
	d.object(pdfDocument, fmt.Sprintf("<</Type/StructElem/S/Document/P %d 0 R/K[%s]>>", pdfTree, &sections))
	d.object(pdfTree, fmt.Sprintf("<</Type/StructTreeRoot/K %d 0 R/ParentTree<</Nums[%s]>>/ParentTreeNextKey %d>>", pdfDocument, &owners, len(d.owners)))
}
