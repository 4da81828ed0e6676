package plots

import (
	"cmp"
	"slices"

	"gonum.org/v1/plot/vg"
)

// marksOnAxis returns the marks on the frequency axis, in order of frequency.
func (p *Panel) marksOnAxis() []Mark {
	marks := slices.DeleteFunc(slices.Clone(p.Marks), func(m Mark) bool { return !(m.FreqHz >= MinHz && m.FreqHz <= MaxHz) })
	slices.SortStableFunc(marks, func(a, b Mark) int { return cmp.Compare(a.FreqHz, b.FreqHz) })
	return marks
}

// marksRoom returns the height of the strip above a panel's area that holds the labels of its
// marks, 0 without marks.
func (s *sheet) marksRoom(p *Panel) vg.Length {
	if len(p.marksOnAxis()) == 0 {
		return 0
	}
	return s.u(32)
}

// marks draws a tick at each mark and its label above it. Labels that would touch are moved
// apart, and a slanted line leads from the label to the tick.
func (d *diagram) marks() {
	l := d.heavy(noteSize)
	marks := d.panel.marksOnAxis()
	wanted := make([]float64, len(marks))
	room := make([]float64, len(marks))
	for i, m := range marks {
		wanted[i] = float64(d.x(m.FreqHz))
		room[i] = float64(d.wide(l, m.Label) + d.u(8))
	}
	top := d.area.Max.Y
	// On the left the numbers of the axis end 10 units from it.
	lo, hi := d.area.Min.X-d.u(10), d.area.Max.X+d.u(lastTickRoom)
	for i, x := range within(spread(wanted, room), room, float64(lo), float64(hi)) {
		at := d.x(marks[i].FreqHz)
		d.stroke(d.ink, 1.6, vg.Point{X: at, Y: top - d.u(9)}, vg.Point{X: at, Y: top + d.u(4)})
		d.stroke(d.ink, 1, vg.Point{X: at, Y: top + d.u(4)}, vg.Point{X: vg.Length(x), Y: top + d.u(11)})
		d.put(l, vg.Length(x), top+d.u(14), 0.5, marks[i].Label)
	}
}

// spread moves positions, given in rising order, as little as possible (least squares) so
// that neighbours are at least half the sum of their widths (room) apart. It is an isotonic
// regression, which pools neighbours that would overlap.
func spread(wanted, room []float64) []float64 {
	type pool struct {
		mean float64
		n    int
	}
	shift := make([]float64, len(wanted)) // distance from the first when all touch
	var pools []pool
	for i, w := range wanted {
		if i > 0 {
			shift[i] = shift[i-1] + (room[i-1]+room[i])/2
		}
		pools = append(pools, pool{w - shift[i], 1})
		for k := len(pools) - 1; k > 0 && pools[k-1].mean > pools[k].mean; k-- {
			a, b := pools[k-1], pools[k]
			n := a.n + b.n
			pools[k-1] = pool{(a.mean*float64(a.n) + b.mean*float64(b.n)) / float64(n), n}
			pools = pools[:k]
		}
	}
	var out []float64
	for _, p := range pools {
		for range p.n {
			out = append(out, p.mean+shift[len(out)])
		}
	}
	return out
}

// within moves the positions that spread returns, in place, so that all widths (room) fit
// between lo and hi. If there is not enough space, the first ones extend below lo.
func within(places, room []float64, lo, hi float64) []float64 {
	for i := range places {
		lo += room[i] / 2
		places[i] = max(places[i], lo)
		lo = places[i] + room[i]/2
	}
	for i := len(places) - 1; i >= 0; i-- {
		hi -= room[i] / 2
		places[i] = min(places[i], hi)
		hi = places[i] - room[i]/2
	}
	return places
}
