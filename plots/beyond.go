package plots

import (
	"math"

	"gonum.org/v1/plot/vg"
)

// rise is a part of a curve beyond an end of the axis.
type rise struct {
	left, right vg.Length // its ends, where the curve crosses the strip at the edge that the value's text takes
	at          vg.Length // where it is farthest from the axis
	db          float64   // its level there
}

// beyond draws an arrow at the edge, with the value, where strong curves leave an axis that was
// cut.
func (d *diagram) beyond() {
	if d.panel.LeastUnitsPerDB == 0 {
		return
	}
	for i := range d.panel.Curves {
		c := &d.panel.Curves[i]
		if c.Style.Weight != Strong {
			continue
		}
		for _, up := range []bool{true, false} {
			for _, r := range d.rises(c, up) {
				d.arrow(r, up)
			}
		}
	}
}

// rises returns the parts of a curve beyond the upper or the lower end. Those whose arrows
// would touch become one, at the larger.
func (d *diagram) rises(c *Curve, up bool) []rise {
	const apart = 60 // layout units between arrows; our choice: the width of a value
	const deep = 22  // layout units from the edge: the strip that a value's text takes

	letters := deep * (d.axis.max - d.axis.min) * float64(d.u(1)/d.area.Size().Y) // dB
	var all []rise
	beyond := func(db, by float64) bool { return up && db > d.axis.max-by || !up && db < d.axis.min+by }
	out := func(i int) bool {
		return drawable(c.DB[i]) && c.FreqHz[i] >= MinHz && c.FreqHz[i] <= MaxHz && beyond(c.DB[i], letters)
	}
	pieces(len(c.DB), out, func(from, to int) {
		r := rise{left: d.x(c.FreqHz[from]), right: d.x(c.FreqHz[to-1])}
		for i := from; i < to; i++ {
			if math.Abs(c.DB[i]) > math.Abs(r.db) {
				r.at, r.db = d.x(c.FreqHz[i]), c.DB[i]
			}
		}
		if !beyond(r.db, 0) {
			return
		}
		if n := len(all); n > 0 && r.left-all[n-1].right < d.u(apart) {
			last := &all[n-1]
			last.right = r.right
			if math.Abs(r.db) > math.Abs(last.db) {
				last.at, last.db = r.at, r.db
			}
			return
		}
		all = append(all, r)
	})
	return all
}

// arrow draws an arrow head at the edge and writes the value beside the rise, where it
// covers the least of other lines.
func (d *diagram) arrow(r rise, up bool) {
	const long, wide = 13, 6 // layout units
	tip, back := d.area.Max.Y-d.u(2), -d.u(long)
	if !up {
		tip, back = d.area.Min.Y+d.u(2), d.u(long)
	}
	d.SetColor(d.ink)
	d.Fill(closed(vg.Point{X: r.at, Y: tip}, vg.Point{X: r.at - d.u(wide), Y: tip + back}, vg.Point{X: r.at + d.u(wide), Y: tip + back}))
	l := d.plain(noteSize)
	text := dbAxis{step: 0.1}.label(r.db, d.panel.ZeroLine)
	baseline := tip - d.u(noteSize)
	if !up {
		baseline = tip + d.u(3)
	}
	d.put(l, d.besideRise(r, d.wide(l, text), baseline), baseline, 0, text)
}

// besideRise returns where a value so wide begins: on either side of the rise or a few
// steps away, where it covers the least of other lines.
func (d *diagram) besideRise(r rise, wide, baseline vg.Length) vg.Length {
	const gap, steps = 8, 5 // layout units; how many gaps away it may stand, our choice: about its own width
	best, least := r.right+d.u(gap), vg.Length(math.Inf(1))
	for k := range steps {
		away := d.u(gap * float64(k+1))
		for _, x := range []vg.Length{r.right + away, r.left - away - wide} {
			if x < d.area.Min.X || x+wide > d.area.Max.X {
				continue
			}
			letters := vg.Rectangle{Min: vg.Point{X: x, Y: baseline}, Max: vg.Point{X: x + wide, Y: baseline + d.u(noteSize)}}
			if covered := d.lengthIn(letters); covered < least {
				best, least = x, covered
			}
		}
	}
	return best
}
