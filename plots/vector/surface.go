// Package vector holds the drawing surfaces of a figure behind one small interface: pixels as
// PNG, paths as SVG, pages of a PDF. It has the letters too, which all three draw as the same
// outlines.
//
// Lengths are pixels of the PNG, with y upwards. The same strokes give the same bytes.
package vector

import (
	"image/color"

	"gonum.org/v1/plot/vg"
)

// Surface takes strokes, fills and words. Of the operations of a [vg.Canvas] it may panic at
// arcs, scaling, pictures, and letters as text.
type Surface interface {
	vg.Canvas

	// Words draws a line of printable text, see [Letters.Printable], from a point on its
	// baseline.
	Words(l *Letters, txt string, size vg.Length, at vg.Point)
}

// Sheet is the paper of a figure.
type Sheet struct {
	WidthPx, HeightPx int
	DPI               float64 // pixels per inch, when it is printed
	Title             string  // for programs that read pictures aloud
	Paper             color.NRGBA
}
