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

// arrow is an arrow head at the edge with the value of a rise.
type arrow struct {
	head []vg.Point
	text string
	at   vg.Point // the left end of the text's baseline
}

// placeArrows finds a place for an arrow at the edge, with the value, where strong curves leave an
// axis that was cut. Later texts do not cover them.
func (d *diagram) placeArrows() {
	if d.panel.LeastUnitsPerDB == 0 {
		return
	}
	for _, up := range []bool{true, false} {
		var all []rise
		for i := range d.panel.Curves {
			if c := &d.panel.Curves[i]; c.Style.Weight == Strong {
				all = append(all, d.rises(c, up)...)
			}
		}
		for _, r := range all {
			d.arrows = append(d.arrows, d.arrowOf(r, up))
		}
	}
}

// drawArrows draws what placeArrows placed.
func (d *diagram) drawArrows() {
	d.SetColor(d.ink)
	for _, a := range d.arrows {
		d.Fill(closed(a.head...))
		d.put(d.plain(noteSize), a.at.X, a.at.Y, 0, a.text)
	}
}

// block makes a rectangle one that text should not cover.
func (d *diagram) block(r vg.Rectangle) {
	d.obstacles = append(d.obstacles, []vg.Point{r.Min, {X: r.Max.X, Y: r.Min.Y}}, []vg.Point{{X: r.Min.X, Y: r.Max.Y}, r.Max})
}

// rises returns the parts of a curve beyond the upper or the lower end. Those whose arrows
// would touch become one, at the larger.
func (d *diagram) rises(c *Curve, up bool) []rise {
	const apart = 60  // layout units between arrows; our choice: the width of a value
	const deep = 22   // layout units from the edge: the strip that a value's text takes
	const visible = 3 // layout units beyond the edge; what is less hides in the thickness of the line

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
		if !beyond(r.db, -letters*visible/deep) {
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

// arrowOf returns the arrow of a rise. Its value stands beside the rise, where it covers the least of
// other lines.
func (d *diagram) arrowOf(r rise, up bool) arrow {
	const long, wide = 13, 6 // layout units
	tip, back := d.area.Max.Y-d.u(2), -d.u(long)
	if !up {
		tip, back = d.area.Min.Y+d.u(2), d.u(long)
	}
	a := arrow{text: dbAxis{step: 0.1}.label(r.db, d.panel.ZeroLine)}
	a.head = []vg.Point{{X: r.at, Y: tip}, {X: r.at - d.u(wide), Y: tip + back}, {X: r.at + d.u(wide), Y: tip + back}}
	d.block(vg.Rectangle{Min: vg.Point{X: r.at - d.u(wide), Y: min(tip, tip+back)}, Max: vg.Point{X: r.at + d.u(wide), Y: max(tip, tip+back)}})
	a.at.Y = tip - d.u(noteSize)
	if !up {
		a.at.Y = tip + d.u(3)
	}
	room := d.wide(d.plain(noteSize), a.text)
	a.at.X = d.besideRise(r, room, a.at.Y)
	d.block(d.lettersAt(a.at, room))
	return a
}

// lettersAt returns the rectangle of a value so wide whose baseline begins there.
func (d *diagram) lettersAt(at vg.Point, wide vg.Length) vg.Rectangle {
	return vg.Rectangle{Min: at, Max: vg.Point{X: at.X + wide, Y: at.Y + d.u(noteSize)}}
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
			if covered := d.lengthIn(d.lettersAt(vg.Point{X: x, Y: baseline}, wide)); covered < least {
				best, least = x, covered
			}
		}
	}
	return best
}
