package plots

import (
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"toneplumb/plots/vector"
)

// diagram is a panel with its place and scales.
type diagram struct {
	*sheet
	panel     *Panel
	area      draw.Canvas // the area inside the axes
	axis      dbAxis
	arrows    []arrow
	obstacles [][]vg.Point // lines that text should not cover, each from left to right; nil without left-out spans
}

// newDiagram returns the diagram of a panel whose axes are the edges of the rectangle.
func (s *sheet) newDiagram(p *Panel, r vg.Rectangle) *diagram {
	const (
		tickRoom = 44 // layout units between two numbers of the axis
		// A low panel has its numbers nearer together, or it would say 0 alone.
		fewGaps, leastTickRoom = 3, 20
		mostGaps               = 10 // largest number of gaps between its numbers; our choice
	)
	d := &diagram{sheet: s, panel: p, area: draw.Canvas{Canvas: s.Canvas, Rectangle: r}}
	room := float64(r.Size().Y / s.u(1))
	d.axis = p.axis(min(mostGaps, max(room/tickRoom, min(fewGaps, room/leastTickRoom))), room)
	if len(p.LeftOut) > 0 || p.LeastUnitsPerDB > 0 {
		d.obstacles = d.linesIn()
	}
	d.placeArrows()
	return d
}

// x returns the place of a frequency on the axis, which is logarithmic.
func (d *diagram) x(hz float64) vg.Length {
	return d.area.Min.X + d.area.Size().X*vg.Length(math.Log(hz/MinHz)/math.Log(MaxHz/MinHz))
}

// y returns the place of a level.
func (d *diagram) y(db float64) vg.Length {
	return d.area.Min.Y + d.area.Size().Y*vg.Length((db-d.axis.min)/(d.axis.max-d.axis.min))
}

// draw draws the panel from back to front.
func (d *diagram) draw(zones []Zone, k key, withHz bool) {
	d.grid()
	for _, left := range d.panel.LeftOut {
		d.hatch(left)
	}
	d.zoneLines(zones)
	for i := range d.panel.Intervals {
		d.interval(&d.panel.Intervals[i])
	}
	for i := range d.panel.Curves {
		d.curve(&d.panel.Curves[i])
	}
	d.drawArrows()
	d.reasons(k)
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
		d.stroke(d.tones.grid, 1, vg.Point{X: x, Y: min.Y}, vg.Point{X: x, Y: max.Y})
	}
	for _, db := range d.axis.ticks() {
		y := d.y(db)
		d.stroke(d.tones.grid, 1, vg.Point{X: min.X, Y: y}, vg.Point{X: max.X, Y: y})
	}
	if d.panel.ZeroLine && d.axis.min < 0 && d.axis.max > 0 {
		y := d.y(0)
		d.stroke(d.hair, 1.6, vg.Point{X: min.X, Y: y}, vg.Point{X: max.X, Y: y})
	}
}

// zoneLines draws lines at the ends of zones that are inside the axis.
func (d *diagram) zoneLines(zones []Zone) {
	for _, hz := range zoneEdges(zones) {
		x := d.x(hz)
		d.StrokeLines(draw.LineStyle{
			Color: d.hair, Width: d.u(1), Dashes: []vg.Length{d.u(1.5), d.u(4)},
		}, []vg.Point{{X: x, Y: d.area.Min.Y}, {X: x, Y: d.area.Max.Y}})
	}
}

// frame draws the axes with their ticks and numbers.
func (d *diagram) frame(withHz bool) {
	r := d.area.Rectangle
	d.SetLineStyle(draw.LineStyle{Color: d.softInk, Width: d.u(1.2)})
	d.Stroke(box(r))

	l := d.plain(labelSize)
	for _, db := range d.axis.ticks() {
		y := d.y(db)
		d.stroke(d.softInk, 1.2, vg.Point{X: r.Min.X - d.u(6), Y: y}, vg.Point{X: r.Min.X, Y: y})
		d.put(l, r.Min.X-d.u(10), y-d.u(0.36*labelSize), 1, d.axis.label(db, d.panel.ZeroLine))
	}
	upright := d.line(l, d.panel.YLabel, r.Size().Y, vector.CutEnd)
	d.putTurned(l, vg.Point{X: r.Min.X - d.u(68), Y: d.area.Center().Y}, math.Pi/2, 0, []string{upright})

	for _, hz := range smallTicks {
		x := d.x(hz)
		d.stroke(d.softInk, 1, vg.Point{X: x, Y: r.Min.Y - d.u(4)}, vg.Point{X: x, Y: r.Min.Y})
	}
	for _, t := range freqTicks {
		x := d.x(t.hz)
		d.stroke(d.softInk, 1.2, vg.Point{X: x, Y: r.Min.Y - d.u(7)}, vg.Point{X: x, Y: r.Min.Y})
		if withHz {
			d.put(l, x, r.Min.Y-d.u(11+labelSize), 0.5, t.label)
		}
	}
	if withHz {
		d.put(l, r.Min.X-d.u(26), r.Min.Y-d.u(11+labelSize), 1, "Hz")
	}
}

// pieces calls draw with each unbroken range of indices for which ok is true.
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

// curve draws a curve, on top of its casing if it has one.
func (d *diagram) curve(c *Curve) {
	style := d.lineStyle(c.Style)
	if c.Style.Cased {
		rim := draw.LineStyle{Color: d.paper, Width: style.Width + 2*d.u(casing)}
		d.polylines(rim, d.points(c.FreqHz, c.DB))
	}
	d.polylines(style, d.points(c.FreqHz, c.DB))
}

// polylines draws lines, clipped to the area; a single point becomes a dash.
func (d *diagram) polylines(style draw.LineStyle, lines [][]vg.Point) {
	const dash = 9 // layout units long; our choice
	for i, line := range lines {
		if len(line) == 1 {
			at := line[0]
			lines[i] = []vg.Point{{X: at.X - d.u(dash)/2, Y: at.Y}, {X: at.X + d.u(dash)/2, Y: at.Y}}
		}
	}
	d.StrokeLines(style, d.area.ClipLinesXY(lines...)...)
}

// interval draws the area between two curves.
func (d *diagram) interval(iv *Interval) {
	if iv.Kind == HatchedEdge {
		d.hatchedEdge(iv)
		return
	}
	fill := d.curves[iv.Colour]
	fill.A = d.fillAlpha
	d.SetColor(fill)
	d.eachPiece(iv, func(from, to int) {
		ring := d.points(iv.FreqHz[from:to], iv.LowDB[from:to])[0]
		back := d.points(iv.FreqHz[from:to], iv.HighDB[from:to])[0]
		slices.Reverse(back)
		if ring = d.area.ClipPolygonXY(append(ring, back...)); len(ring) > 0 {
			d.Fill(closed(ring...))
		}
	})
	edge := draw.LineStyle{Color: d.curves[iv.Colour], Width: d.u(1)}
	d.eachPiece(iv, func(from, to int) {
		for _, db := range [2][]float64{iv.LowDB, iv.HighDB} {
			d.polylines(edge, d.points(iv.FreqHz[from:to], db[from:to]))
		}
	})
}

// eachPiece calls draw with each unbroken range of indices of an interval.
func (d *diagram) eachPiece(iv *Interval, draw func(from, to int)) {
	pieces(len(iv.FreqHz), func(i int) bool { return drawable(iv.LowDB[i]) && drawable(iv.HighDB[i]) }, draw)
}

// hatchedEdge draws both edges as thin lines with short strokes inwards. The strokes are
// almost vertical, so that they do not merge with an edge of any slope.
func (d *diagram) hatchedEdge(iv *Interval) {
	const apart, long = 9, 7 // layout units
	style := draw.LineStyle{Color: d.curves[iv.Colour], Width: d.u(1)}
	d.eachPiece(iv, func(from, to int) {
		for side, db := range [2][]float64{iv.LowDB, iv.HighDB} {
			d.polylines(style, d.points(iv.FreqHz[from:to], db[from:to]))
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

const zoneRoom = textSize + 12.0 // height of the strip of zone names, in layout units

// zoneEdges returns the ends of zones that are inside the axis, in order and each once.
func zoneEdges(zones []Zone) []float64 {
	var edges []float64
	for _, z := range zones {
		for _, hz := range [2]float64{z.FromHz, z.ToHz} {
			if hz > MinHz && hz < MaxHz {
				edges = append(edges, hz)
			}
		}
	}
	slices.Sort(edges)
	return slices.Compact(edges)
}

// zoneNames writes the names between hairlines, in the strip above the diagram.
func (d *diagram) zoneNames(zones []Zone) {
	bottom := d.area.Max.Y + d.marksRoom(d.panel)
	for _, hz := range zoneEdges(zones) {
		x := d.x(hz)
		d.stroke(d.hair, 1, vg.Point{X: x, Y: d.area.Max.Y}, vg.Point{X: x, Y: bottom + d.u(zoneRoom-4)})
	}
	for _, z := range zones {
		from, to := max(z.FromHz, MinHz), min(z.ToHz, MaxHz)
		if !(from < to) {
			continue
		}
		l := d.soft(textSize)
		room := d.x(to) - d.x(from) - d.u(6)
		if d.wide(l, z.Name) > room {
			l = d.soft(noteSize - 1)
		}
		d.put(l, (d.x(from)+d.x(to))/2, bottom+d.u(8), 0.5, d.line(l, z.Name, room, vector.CutEnd))
	}
}

// lowPanel is the height in layout units below which a panel is low. Our choice: at 134 a difference of
// 40 dB was a strip that could not be read.
const lowPanel = 150.0

// low reports whether a panel that does not yield is low.
func (p *page) low() bool {
	return slices.ContainsFunc(p.diagrams, func(d *diagram) bool { return !d.panel.Yields && d.area.Size().Y < p.u(lowPanel) })
}

// yielded returns the figure without the panels that yield, nil if there are none or no others.
func (f *Figure) yielded() *Figure {
	rest := slices.DeleteFunc(slices.Clone(f.Panels), func(p Panel) bool { return p.Yields })
	if len(rest) == len(f.Panels) || len(rest) == 0 {
		return nil
	}
	without := *f
	without.Panels = rest
	return &without
}
