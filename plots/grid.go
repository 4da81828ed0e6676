package plots

import (
	"image/color"
	"math"

	"toneplumb/plots/vector"

	"gonum.org/v1/plot/vg"
)

// Grid is a table of shaded cells, darker for larger values. The number is printed in each
// cell, so that the grid is readable without colour too.
type Grid struct {
	Title   string   // above the grid, on one line
	Columns []string // headings of the columns of cells
	Rows    []GridRow
}

// GridRow is one row of cells. Shade and Text must have one value for each column.
type GridRow struct {
	Name  string
	Shade []float64 // for each column, 0 (paper) to 1 (darkest); limited to that range
	Text  []string  // printed in each cell
}

func (g *Grid) mustBeSound() {
	for _, r := range g.Rows {
		if len(r.Shade) != len(g.Columns) || len(r.Text) != len(g.Columns) {
			panic("plots: a row of a grid with another number of cells than columns")
		}
	}
}

// Sizes in layout units. Our choice.
const (
	gridRowHeight = 31.0
	gridNameShare = 0.27 // of the width for the names
	gridCellGap   = 2.0
)

// gridLayout is a grid and its place on the sheet.
type gridLayout struct {
	grid             *Grid
	left, right, top vg.Length
	height           vg.Length
}

func (s *sheet) layGrid(g *Grid, left, right, top vg.Length) gridLayout {
	lay := gridLayout{grid: g, left: left, right: right, top: top - s.u(blockGap)}
	if len(g.Rows) == 0 {
		return lay
	}
	lay.height = s.lead(s.heavy(textSize), 1) + s.u(gridRowHeight*float64(len(g.Rows))+blockGap)
	if g.Title != "" {
		lay.height += s.lead(s.heavy(labelSize), 1)
	}
	return lay
}

func (lay *gridLayout) draw(s *sheet) {
	g := lay.grid
	if len(g.Rows) == 0 {
		return
	}
	y := lay.top
	width := lay.right - lay.left
	if g.Title != "" {
		l := s.heavy(labelSize)
		y = s.putTexts(l, vector.Subheading, lay.left, y, texts{{s.line(l, g.Title, width, vector.CutEnd)}})
	}
	s.part(vector.Part{Role: vector.Table, Box: vg.Rectangle{Min: vg.Point{X: lay.left, Y: lay.top - lay.height}, Max: vg.Point{X: lay.right, Y: y}}}, func() { lay.cells(s, y) })
}

// cells draws the table itself from y downwards.
func (lay *gridLayout) cells(s *sheet, y vg.Length) {
	g, width := lay.grid, lay.right-lay.left
	first := lay.left + width*gridNameShare
	cell := (lay.right - first) / vg.Length(max(1, len(g.Columns)))
	head := s.heavy(textSize)
	in := func(role vector.Role, draw func()) { s.part(vector.Part{Role: role}, draw) }
	in(vector.Row, func() {
		in(vector.Cell, func() {}) // over the names
		for i, name := range g.Columns {
			in(vector.HeadCell, func() {
				s.put(head, first+cell*(vg.Length(i)+0.5), y-s.u(textSize), 0.5, s.line(head, name, cell-s.u(gridCellGap), vector.CutEnd))
			})
		}
	})
	y -= s.lead(head, 1)
	plain := s.plain(textSize)
	for _, r := range g.Rows {
		bottom := y - s.u(gridRowHeight)
		base := (y+bottom)/2 - s.u(0.36*textSize) // capitals stand 0.73 of the size high
		in(vector.Row, func() {
			in(vector.Cell, func() {
				s.put(plain, lay.left, base, 0, s.line(plain, r.Name, width*gridNameShare-s.u(12), vector.CutMiddle))
			})
			for i := range g.Columns {
				at := vg.Rectangle{
					Min: vg.Point{X: first + cell*vg.Length(i) + s.u(gridCellGap), Y: bottom + s.u(gridCellGap)},
					Max: vg.Point{X: first + cell*vg.Length(i+1), Y: y},
				}
				words := s.shaded(at, s.shade(r.Shade[i]), plain)
				in(vector.Cell, func() {
					s.put(words, (at.Min.X+at.Max.X)/2, base, 0.5, s.line(words, r.Text[i], cell-s.u(3*gridCellGap), vector.CutEnd))
				})
			}
		})
		y = bottom
	}
}

// shaded fills a cell and returns the lettering in a colour that is readable on it.
func (s *sheet) shaded(at vg.Rectangle, tone color.NRGBA, l lettering) lettering {
	s.SetColor(tone)
	s.Fill(box(at))
	l.colour = readable(tone)
	return l
}

// shade returns the colour for x, from paper at 0 to blue at 1. Our choice: a single hue of
// Okabe and Ito, so that a printer without colour gives greys in the same order.
func (t *tones) shade(x float64) color.NRGBA { return t.towards(Blue, x) }

// between returns the colour for x, from orange at −1 over paper to blue at 1, hues of Okabe
// and Ito that everybody tells apart.
func (t *tones) between(x float64) color.NRGBA {
	if x < 0 {
		return t.towards(Orange, -x)
	}
	return t.towards(Blue, x)
}

func (t *tones) towards(hue Colour, x float64) color.NRGBA {
	x = min(max(x, 0), 1)
	from, to := t.paper, t.curves[hue]
	mix := func(a, b uint8) uint8 { return uint8(float64(a) + x*(float64(b)-float64(a)) + 0.5) }
	return color.NRGBA{mix(from.R, to.R), mix(from.G, to.G), mix(from.B, to.B), 255}
}

// readable returns black or white, whichever has more contrast to a tone. On middle tones, ink
// and paper would have less than the contrast of 4.5 that WCAG 2.1, 1.4.3 asks for.
func readable(tone color.NRGBA) color.NRGBA {
	black, white := color.NRGBA{A: 255}, color.NRGBA{255, 255, 255, 255}
	if on := brightness(tone) + flare; on/flare >= (1+flare)/on {
		return black
	}
	return white
}

const flare = 0.05 // ambient light reflected by the screen, as in the contrast ratio of WCAG 2.1

// brightness returns the relative luminance of a colour, 0 to 1. Source: WCAG 2.1, with a power
// of 2.2 instead of sRGB's curve, which is accurate enough to choose between two colours.
func brightness(c color.NRGBA) float64 {
	linear := func(v uint8) float64 { return math.Pow(float64(v)/255, 2.2) }
	return 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
}
