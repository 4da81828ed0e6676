package vector

import (
	"image"
	"image/color"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// pen is the state of a drawing surface that writes paths. It has the operations that a
// figure needs and panics on the others: letters as text, pictures, scaling.
type pen struct {
	now  brush
	kept []brush // saved by Push
}

// brush is the state that Push saves.
type brush struct {
	colour color.NRGBA
	width  vg.Length
	dash   string // lengths separated by blanks
	// A point (x, y) is drawn at origin + x·(cos, sin) + y·(−sin, cos).
	origin   vg.Point
	cos, sin float64
}

func newPen() pen { return pen{now: brush{cos: 1}} }

func (p *pen) SetLineWidth(w vg.Length) { p.now.width = w }

func (p *pen) SetLineDash(pattern []vg.Length, offset vg.Length) {
	if offset != 0 {
		panic("vector: dashes begin with the line")
	}
	var dash strings.Builder
	for i, d := range pattern {
		if i > 0 {
			dash.WriteByte(' ')
		}
		// More precise than coordinates: an error here accumulates along the line.
		dash.WriteString(strconv.FormatFloat(math.Round(float64(d)*1e5)/1e5, 'f', -1, 64))
	}
	p.now.dash = dash.String()
}

// SetColor takes nil as black, as [vg.Canvas] requires.
func (p *pen) SetColor(clr color.Color) {
	if clr == nil {
		clr = color.Black
	}
	p.now.colour = color.NRGBAModel.Convert(clr).(color.NRGBA)
}

func (p *pen) Rotate(rad float64) {
	sin, cos := math.Sincos(rad)
	b := &p.now
	b.cos, b.sin = b.cos*cos-b.sin*sin, b.sin*cos+b.cos*sin
}

func (p *pen) Translate(by vg.Point) { p.now.origin = p.now.place(by) }

func (p *pen) Push() { p.kept = append(p.kept, p.now) }

func (p *pen) Pop() {
	p.now = p.kept[len(p.kept)-1]
	p.kept = p.kept[:len(p.kept)-1]
}

func (*pen) Scale(x, y float64)                     { panic("vector: a pen does not scale") }
func (*pen) FillString(font.Face, vg.Point, string) { panic("vector: words come as outlines") }
func (*pen) DrawImage(vg.Rectangle, image.Image)    { panic("vector: a pen holds no pictures") }

// place returns the place where a point is drawn.
func (b brush) place(p vg.Point) vg.Point {
	cos, sin := vg.Length(b.cos), vg.Length(b.sin)
	return vg.Point{X: b.origin.X + p.X*cos - p.Y*sin, Y: b.origin.Y + p.X*sin + p.Y*cos}
}
