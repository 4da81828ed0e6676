// Package vector holds the drawing surfaces of a figure behind one small interface,
// [Surface]: pixels as PNG, paths as SVG, pages of a PDF. It also has the letters, which all
// three draw as the same outlines.
//
// Lengths are in pixels of the PNG, with y upwards. The same drawing gives the same bytes.
//
// It imports no other package of toneplumb.
package vector

import (
	"image/color"

	"gonum.org/v1/plot/vg"
)

// Surface is a drawing surface for lines, fills and text. Some operations of [vg.Canvas] may
// panic: arcs, scaling, pictures, and letters as text.
type Surface interface {
	vg.Canvas

	// Words draws a line of printable text, see [Letters.Printable], in type of a size,
	// starting from a point on its baseline.
	Words(l *Letters, txt string, size vg.Length, at vg.Point)
}

// Sheet describes the paper of a figure.
type Sheet struct {
	WidthPx, HeightPx int
	DPI               float64 // pixels per inch when printed
	Title, Alt        string  // for screen readers: its name, and what it shows
	Paper             color.NRGBA
}

// Role is what a part of a sheet is. Source of the names: ISO 32000-1:2008, 14.8.4 standard
// structure types.
type Role string

// The roles. Sections, tables and rows hold other parts, the others words and lines.
const (
	Section    Role = "Sect"
	Heading    Role = "H1"
	Subheading Role = "H2"
	Paragraph  Role = "P"
	Figure     Role = "Figure"
	Table      Role = "Table"
	Row        Role = "TR"
	HeadCell   Role = "TH"
	Cell       Role = "TD"
)

// holdsParts reports whether the role's own lines are decoration.
func (r Role) holdsParts() bool { return r == Section || r == Table || r == Row }

// Part is a piece of a sheet for programs that read it aloud.
type Part struct {
	Role Role
	Alt  string       // of a Figure: what it shows
	Box  vg.Rectangle // of a Figure and a Table: where it is
	Span int          // columns that a Cell takes; 0 is one
}

// Reader is a [Surface] that knows its parts. They nest, and are read in the order in which
// they are drawn; what belongs to none, or only to one that holds others, is decoration.
type Reader interface {
	Begin(Part)
	End()
}
