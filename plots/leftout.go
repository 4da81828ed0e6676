package plots

import (
	"image/color"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

var hatchTone = color.NRGBA{190, 190, 190, 255}

// spanBox returns the part of the area a span covers, and whether there is any.
func (d *diagram) spanBox(sp Span) (vg.Rectangle, bool) {
	from, to := max(sp.FromHz, MinHz), min(sp.ToHz, MaxHz)
	if !(from < to) {
		return vg.Rectangle{}, false
	}
	r := d.area.Rectangle
	r.Min.X, r.Max.X = d.x(from), d.x(to)
	return r, true
}

// hatch fills a left-out span with slanted lines and closes it with thin edges.
func (d *diagram) hatch(sp Span) {
	r, any := d.spanBox(sp)
	if !any {
		return
	}
	// Every line is y = x + k. The multiples of apart are counted from the
	// sheet's corner, so that neighbouring spans continue each other.
	apart := d.u(9)
	var p vg.Path
	first := int((r.Min.Y - r.Max.X) / apart)
	for n := first - 1; ; n++ {
		k := apart * vg.Length(n)
		if r.Min.X+k > r.Max.Y {
			break
		}
		from, to := max(r.Min.X, r.Min.Y-k), min(r.Max.X, r.Max.Y-k)
		if from < to {
			p.Move(vg.Point{X: from, Y: from + k})
			p.Line(vg.Point{X: to, Y: to + k})
		}
	}
	d.SetLineStyle(draw.LineStyle{Color: hatchTone, Width: d.u(1)})
	d.Stroke(p)
	for _, x := range []vg.Length{r.Min.X, r.Max.X} {
		d.stroke(hairline, 1, vg.Point{X: x, Y: r.Min.Y}, vg.Point{X: x, Y: r.Max.Y})
	}
}

// reason writes why a span is left out: across if its words fit, otherwise
// upright, where it meets the curves least.
func (d *diagram) reason(sp Span) {
	r, any := d.spanBox(sp)
	if !any || !named(sp.Why) {
		return
	}
	l := d.soft(noteSize)
	gap := d.u(8)
	room := r.Size()
	centre := vg.Point{X: (r.Min.X + r.Max.X) / 2}
	if lines := d.across(l, sp.Why, room.X-2*gap, room.Y-2*gap); lines != nil {
		size := vg.Point{X: d.widest(l, lines), Y: d.lead(l, len(lines))}
		d.putCased(l, d.quietest(centre, size), 0, lines)
		return
	}
	rows := int((room.X + d.u(4)) / d.lead(l, 1))
	lines := d.balanced(l, sp.Why, room.Y-2*gap, max(1, min(rows, 3)))
	size := vg.Point{X: d.lead(l, len(lines)), Y: d.widest(l, lines)}
	centre.X = max(d.area.Min.X+size.X/2, min(centre.X, d.area.Max.X-size.X/2))
	d.putCased(l, d.quietest(centre, size), math.Pi/2, lines)
}

// balanced breaks words like lines, then narrows them as far as their number
// allows, so that no last word stands alone.
func (d *diagram) balanced(l lettering, txt string, width vg.Length, maxLines int) []string {
	lines := d.lines(l, txt, width, maxLines, cutEnd)
	if len(lines) < 2 || strings.HasSuffix(lines[len(lines)-1], ellipsis) {
		return lines
	}
	for narrow := width; narrow > width/3; narrow -= d.u(4) {
		again := d.lines(l, txt, narrow, maxLines+1, cutEnd)
		if len(again) > len(lines) {
			break
		}
		lines = again
	}
	return lines
}

// across returns the words on at most four lines, or nil if they need more or
// a word would break.
func (d *diagram) across(l lettering, why string, width, height vg.Length) []string {
	for _, word := range strings.Fields(why) {
		if d.wide(l, word) > width {
			return nil
		}
	}
	lines := d.balanced(l, why, width, 5)
	if len(lines) > 4 || d.lead(l, len(lines)) > height {
		return nil
	}
	return lines
}

func (d *diagram) widest(l lettering, lines []string) vg.Length {
	var w vg.Length
	for _, txt := range lines {
		w = max(w, d.wide(l, txt))
	}
	return w
}

func around(centre, size vg.Point) vg.Rectangle {
	half := size.Scale(0.5)
	return vg.Rectangle{Min: centre.Sub(half), Max: centre.Add(half)}
}

// quietest returns at with the height at which a block of that size lies over
// the fewest points of curves; of equals the one nearest the middle.
func (d *diagram) quietest(at, size vg.Point) vg.Point {
	const places = 24
	size.X, size.Y = size.X+d.u(12), size.Y+d.u(12) // some air around it
	lo, hi := d.area.Min.Y+size.Y/2, d.area.Max.Y-size.Y/2
	if lo > hi {
		at.Y = (lo + hi) / 2
		return at
	}
	middle := (lo + hi) / 2
	best, fewest := middle, -1
	for n := 0; n <= places; n++ {
		away := (hi - lo) / 2 * vg.Length((n+1)/2) / (places / 2)
		if n%2 == 1 {
			away = -away
		}
		block := around(vg.Point{X: at.X, Y: middle + away}, size)
		if covered := d.pointsIn(block); fewest < 0 || covered < fewest {
			best, fewest = middle+away, covered
		}
	}
	return vg.Point{X: at.X, Y: best}
}

// pointsIn counts the points of curves inside a rectangle; the line at 0 dB
// counts as a few.
func (d *diagram) pointsIn(r vg.Rectangle) int {
	n := 0
	if zero := d.y(0); d.panel.ZeroLine && zero >= r.Min.Y && zero <= r.Max.Y {
		n = 4
	}
	for _, c := range d.panel.Curves {
		for i, db := range c.DB {
			if !drawable(db) || c.FreqHz[i] < MinHz || c.FreqHz[i] > MaxHz {
				continue
			}
			x, y := d.x(c.FreqHz[i]), d.y(db)
			if x >= r.Min.X && x <= r.Max.X && y >= r.Min.Y && y <= r.Max.Y {
				n++
			}
		}
	}
	return n
}
