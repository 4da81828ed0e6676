package plots

import (
	"math"

	"gonum.org/v1/plot/vg"
)

// asideOf returns the parts of lines that keep off a bolder line of that
// weight. Both run from left to right, one level at each frequency.
func (d *diagram) asideOf(bold [][]vg.Point, weight vg.Length, lines [][]vg.Point) [][]vg.Point {
	const (
		clearance = 1.6 // layout units of paper between the two; our choice
		stride    = 2.0 // layout units between places looked at
	)
	near := d.unit * (weight/2 + weights[Thin]/2 + clearance)
	var out [][]vg.Point
	for _, line := range lines {
		var part []vg.Point
		end := func() {
			if len(part) > 1 || len(part) == len(line) {
				out = append(out, part)
			}
			part = nil
		}
		at := walker{lines: bold}
		for i, p := range line {
			steps := 1
			if i > 0 {
				steps = max(1, int(math.Ceil(float64((p.X-line[i-1].X)/d.u(stride)))))
			}
			for k := 1; k <= steps; k++ {
				q := p
				if k < steps {
					q = along(line[i-1], p, vg.Length(k)/vg.Length(steps))
				}
				if at.distance(q) < near {
					end()
				} else {
					part = append(part, q)
				}
			}
		}
		end()
	}
	return out
}

// along returns the point at a fraction of the way from a to b.
func along(a, b vg.Point, fraction vg.Length) vg.Point {
	return a.Add(b.Sub(a).Scale(fraction))
}

// walker measures distances to lines at places further and further right.
type walker struct {
	lines [][]vg.Point
	k, i  int // the piece, and the end of the part last looked at
}

// distance from q to the part of the lines above or below it, along its
// perpendicular; infinite where there is none.
func (w *walker) distance(q vg.Point) vg.Length {
	for ; w.k < len(w.lines); w.k, w.i = w.k+1, 0 {
		line := w.lines[w.k]
		for w.i = max(w.i, 1); w.i < len(line); w.i++ {
			a, b := line[w.i-1], line[w.i]
			if b.X < q.X {
				continue
			}
			if a.X > q.X {
				return vg.Length(math.Inf(1))
			}
			slope := float64((b.Y - a.Y) / (b.X - a.X))
			up := float64(q.Y-a.Y) - slope*float64(q.X-a.X)
			return vg.Length(math.Abs(up) / math.Hypot(1, slope))
		}
	}
	return vg.Length(math.Inf(1))
}
