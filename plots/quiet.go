package plots

import (
	"math"

	"gonum.org/v1/plot/vg"
)

// linesIn returns the drawable pieces of all curves and of the edges of all
// intervals, as points on the canvas.
func (d *diagram) linesIn() [][]vg.Point {
	var out [][]vg.Point
	add := func(freqHz, db []float64) { out = append(out, d.points(freqHz, db)...) }
	for _, c := range d.panel.Curves {
		add(c.FreqHz, c.DB)
	}
	for _, iv := range d.panel.Intervals {
		add(iv.FreqHz, iv.LowDB)
		add(iv.FreqHz, iv.HighDB)
	}
	return out
}

// points returns the drawable pieces of a line, as points on the canvas.
func (d *diagram) points(freqHz, db []float64) [][]vg.Point {
	var out [][]vg.Point
	pieces(len(db), func(i int) bool { return drawable(db[i]) }, func(from, to int) {
		piece := make([]vg.Point, 0, to-from)
		for i := from; i < to; i++ {
			piece = append(piece, vg.Point{X: d.x(freqHz[i]), Y: d.y(db[i])})
		}
		out = append(out, piece)
	})
	return out
}

// quietest returns the centre inside r at which a block of the given size covers the
// smallest length of lines, and that length. Of equal ones it returns the one nearest to the
// middle of the height, then of the width. In a direction in which the block is larger than
// r it is centred.
func (d *diagram) quietest(r vg.Rectangle, size vg.Point) (centre vg.Point, covered vg.Length) {
	const rows, columns = 24, 4 // places tried besides the middle
	air := d.u(6)               // around the block, all sides
	covered = vg.Length(math.Inf(1))
	for i := range rows + 1 {
		y := fromMiddle(r.Min.Y+size.Y/2+air, r.Max.Y-size.Y/2-air, i, rows)
		for k := range columns + 1 {
			x := fromMiddle(r.Min.X+size.X/2+air, r.Max.X-size.X/2-air, k, columns)
			half := vg.Point{X: size.X/2 + air, Y: size.Y/2 + air}
			at := vg.Point{X: x, Y: y}
			if c := d.lengthIn(vg.Rectangle{Min: at.Sub(half), Max: at.Add(half)}); c < covered {
				centre, covered = at, c
			}
			if covered == 0 {
				return centre, 0
			}
		}
	}
	return centre, covered
}

// fromMiddle returns the nth of places between lo and hi: first the middle, then
// alternately below and above it. If lo ≥ hi it always returns the middle.
func fromMiddle(lo, hi vg.Length, n, places int) vg.Length {
	middle := (lo + hi) / 2
	if lo >= hi {
		return middle
	}
	away := (hi - lo) / 2 * vg.Length((n+1)/2) / vg.Length(places/2)
	if n%2 == 1 {
		return middle - away
	}
	return middle + away
}

// lengthIn returns the length of all lines inside a rectangle, including that of 0 dB.
func (d *diagram) lengthIn(r vg.Rectangle) vg.Length {
	var sum vg.Length
	if zero := d.y(0); d.panel.ZeroLine && zero >= r.Min.Y && zero <= r.Max.Y {
		sum = r.Size().X
	}
	for _, line := range d.obstacles {
		for i := 1; i < len(line); i++ {
			a, b := line[i-1], line[i]
			if b.X < r.Min.X || min(a.Y, b.Y) > r.Max.Y || max(a.Y, b.Y) < r.Min.Y {
				continue
			}
			if a.X > r.Max.X {
				break
			}
			sum += lengthInside(a, b, r)
		}
	}
	return sum
}

// lengthInside returns the length of the part of the line from a to b that is inside r. It
// clips the line, as fractions from … to of it, at each edge in turn.
func lengthInside(a, b vg.Point, r vg.Rectangle) vg.Length {
	from, to := 0.0, 1.0
	cutAt := func(start, delta, lo, hi vg.Length) {
		if delta == 0 {
			if start < lo || start > hi {
				to = -1
			}
			return
		}
		t0, t1 := float64((lo-start)/delta), float64((hi-start)/delta)
		from, to = max(from, min(t0, t1)), min(to, max(t0, t1))
	}
	delta := b.Sub(a)
	cutAt(a.X, delta.X, r.Min.X, r.Max.X)
	cutAt(a.Y, delta.Y, r.Min.Y, r.Max.Y)
	if from >= to {
		return 0
	}
	return vg.Length(to-from) * vg.Length(math.Hypot(float64(delta.X), float64(delta.Y)))
}
