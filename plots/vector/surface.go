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
