package plots

import (
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// diagram is a panel with the place and the scales it is drawn at.
type diagram struct {
	*sheet
	panel *Panel
	area  draw.Canvas // the room inside the axes
	plot  *plot.Plot  // carries the scales only; axes and words are ours
	axis  dbAxis
	x, y  func(float64) vg.Length
}

// newDiagram places the panel's axes on the rectangle.
func (s *sheet) newDiagram(p *Panel, r vg.Rectangle) *diagram {
	const tickRoom = 44 // layout units between two numbers of the axis
	d := &diagram{sheet: s, panel: p, area: draw.Canvas{Canvas: s.Canvas, Rectangle: r}}
	d.axis = p.axis(float64(r.Size().Y / s.u(tickRoom)))
	d.plot = plot.New()
	d.plot.X.Min, d.plot.X.Max, d.plot.X.Scale = MinHz, MaxHz, plot.LogScale{}
	d.plot.Y.Min, d.plot.Y.Max = d.axis.min, d.axis.max
	d.x, d.y = d.plot.Transforms(&d.area)
	return d
}

// draw paints the panel from the back to the front.
func (d *diagram) draw(zones []Zone, withHz bool) {
	d.grid()
	for _, left := range d.panel.LeftOut {
		d.hatch(left)
	}
	d.zoneLines(zones)
	for i := range d.panel.Intervals {
		d.interval(&d.panel.Intervals[i])
	}
	for _, left := range d.panel.LeftOut {
		d.reason(left)
	}
	for i := range d.panel.Curves {
		d.curve(&d.panel.Curves[i])
	}
	if _, _, any := d.panel.dataRange(); !any {
		l := d.soft(labelSize)
		centre := d.area.Center()
		d.put(l, centre.X, centre.Y+d.u(12), 0.5, "nothing to draw here")
	}
	d.frame(withHz)
}

// grid draws the thin lines behind everything, and 0 dB.
func (d *diagram) grid() {
	min, max := d.area.Min, d.area.Max
	for _, t := range freqTicks {
		x := d.x(t.hz)
		d.stroke(gridTone, 1, vg.Point{X: x, Y: min.Y}, vg.Point{X: x, Y: max.Y})
	}
	for _, db := range d.axis.ticks() {
		y := d.y(db)
		d.stroke(gridTone, 1, vg.Point{X: min.X, Y: y}, vg.Point{X: max.X, Y: y})
	}
	if d.panel.ZeroLine && d.axis.min < 0 && d.axis.max > 0 {
		y := d.y(0)
		d.stroke(hairline, 1.6, vg.Point{X: min.X, Y: y}, vg.Point{X: max.X, Y: y})
	}
}

// zoneLines parts the zones where they begin and end inside the axis.
func (d *diagram) zoneLines(zones []Zone) {
	for _, hz := range zoneEdges(zones) {
		x := d.x(hz)
		d.StrokeLines(draw.LineStyle{
			Color: hairline, Width: d.u(1), Dashes: []vg.Length{d.u(1.5), d.u(4)},
		}, []vg.Point{{X: x, Y: d.area.Min.Y}, {X: x, Y: d.area.Max.Y}})
	}
}

// frame draws the axes with their ticks and numbers.
func (d *diagram) frame(withHz bool) {
	r := d.area.Rectangle
	d.SetLineStyle(draw.LineStyle{Color: softInk, Width: d.u(1.2)})
	d.Stroke(box(r))

	l := d.plain(labelSize)
	for _, db := range d.axis.ticks() {
		y := d.y(db)
		d.stroke(softInk, 1.2, vg.Point{X: r.Min.X - d.u(6), Y: y}, vg.Point{X: r.Min.X, Y: y})
		d.put(l, r.Min.X-d.u(10), y-d.u(0.36*labelSize), 1, d.axis.label(db, d.panel.ZeroLine))
	}
	upright := d.line(l, d.panel.YLabel, r.Size().Y, cutEnd)
	d.putTurned(l, vg.Point{X: r.Min.X - d.u(68), Y: d.area.Center().Y}, math.Pi/2, []string{upright})

	for _, hz := range smallTicks {
		x := d.x(hz)
		d.stroke(softInk, 1, vg.Point{X: x, Y: r.Min.Y - d.u(4)}, vg.Point{X: x, Y: r.Min.Y})
	}
	for _, t := range freqTicks {
		x := d.x(t.hz)
		d.stroke(softInk, 1.2, vg.Point{X: x, Y: r.Min.Y - d.u(7)}, vg.Point{X: x, Y: r.Min.Y})
		if withHz {
			d.put(l, x, r.Min.Y-d.u(11+labelSize), 0.5, t.label)
		}
	}
	if withHz {
		d.put(l, r.Min.X-d.u(26), r.Min.Y-d.u(11+labelSize), 1, "Hz")
	}
}

// pieces calls draw with each unbroken run of indices whose values can be
// drawn.
func pieces(n int, ok func(int) bool, draw func(from, to int)) {
	for from := 0; from < n; from++ {
		to := from
		for to < n && ok(to) {
			to++
		}
		if to > from {
			draw(from, to)
			from = to
		}
	}
}

// curve draws the pieces of a curve.
func (d *diagram) curve(c *Curve) {
	style := d.lineStyle(c.Style)
	d.polyline(style, c.FreqHz, c.DB)
}

// polyline draws the drawable pieces of a line, cut off at the area's edge.
func (d *diagram) polyline(style draw.LineStyle, freqHz, db []float64) {
	const dash = 1.015 // a lone point spreads by this factor to either side; our choice
	pieces(len(db), func(i int) bool { return drawable(db[i]) }, func(from, to int) {
		var xys plotter.XYs
		for i := from; i < to; i++ {
			xys = append(xys, plotter.XY{X: freqHz[i], Y: db[i]})
		}
		if len(xys) == 1 {
			xys = plotter.XYs{{X: freqHz[from] / dash, Y: db[from]}, {X: freqHz[from] * dash, Y: db[from]}}
		}
		line := plotter.Line{XYs: xys, LineStyle: style}
		line.Plot(d.area, d.plot)
	})
}

// fillAlpha is the strength of a translucent fill. Our choice: grid and zone
// lines stay visible through it, on paper too.
const fillAlpha = 56

// interval draws the room between two curves.
func (d *diagram) interval(iv *Interval) {
	if iv.Kind == HatchedEdge {
		d.hatchedEdge(iv)
		return
	}
	fill := colours[iv.Colour]
	fill.A = fillAlpha
	d.eachPiece(iv, func(from, to int) {
		var ring plotter.XYs
		for i := from; i < to; i++ {
			ring = append(ring, plotter.XY{X: iv.FreqHz[i], Y: iv.LowDB[i]})
		}
		for i := to - 1; i >= from; i-- {
			ring = append(ring, plotter.XY{X: iv.FreqHz[i], Y: iv.HighDB[i]})
		}
		polygon := plotter.Polygon{XYs: []plotter.XYs{ring}, Color: color.Color(fill)}
		polygon.Plot(d.area, d.plot)
	})
}

func (d *diagram) eachPiece(iv *Interval, draw func(from, to int)) {
	pieces(len(iv.FreqHz), func(i int) bool { return drawable(iv.LowDB[i]) && drawable(iv.HighDB[i]) }, draw)
}

// hatchedEdge draws both edges thin, with short strokes inwards. They
// stand almost upright, so that no slope of the edge runs along them.
func (d *diagram) hatchedEdge(iv *Interval) {
	const apart, long = 9, 7 // layout units
	style := draw.LineStyle{Color: colours[iv.Colour], Width: d.u(1)}
	d.eachPiece(iv, func(from, to int) {
		for side, db := range [2][]float64{iv.LowDB, iv.HighDB} {
			d.polyline(style, iv.FreqHz[from:to], db[from:to])
			inwards := d.u(long)
			if side == 1 {
				inwards = -inwards
			}
			next := d.area.Min.X
			for i := from; i+1 < to; i++ {
				x0, x1 := d.x(iv.FreqHz[i]), d.x(iv.FreqHz[i+1])
				y0, y1 := d.y(db[i]), d.y(db[i+1])
				for next = max(next, x0); next < x1; next += d.u(apart) {
					at := vg.Point{X: next, Y: y0 + (y1-y0)*(next-x0)/(x1-x0)}
					stroke := []vg.Point{at, {X: at.X + d.u(long)/4, Y: at.Y + inwards}}
					d.StrokeLines(style, d.area.ClipLinesXY(stroke)...)
				}
			}
		}
	})
}
