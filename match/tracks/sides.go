package tracks

import (
	"maps"
	"math"
	"slices"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/multitrack"
)

// sides are the cells of a mix's mid and side, with the earlier steps of a plan applied.
type sides struct {
	mid, side *search
	done      effects
	wantDB    []float64 // side against mid of the reference; NaN where the cell is not used
	blocks    int
	without   int // the block that is left out; −1: none
}

// sidesOf returns the mid and side cells for the same moments as c.
func (s *session) sidesOf(c *cells, ref *measure.Recording, lagSec float64, done []action) *sides {
	half := func() *search {
		h := &cells{thirds: c.thirds, each: c.each, moments: c.moments, mix: make([]float64, len(c.mix)),
			power: make([][]float64, len(s.tracks)), re: make([][]float64, len(s.tracks))}
		for i := range s.tracks {
			if c.power[i] != nil {
				h.power[i], h.re[i] = make([]float64, len(c.mix)), make([]float64, len(c.mix))
			}
		}
		return &search{s, h}
	}
	w := &sides{mid: half(), side: half(), wantDB: make([]float64, len(c.mix)), blocks: min(10, c.moments/2), without: -1}
	refMid, refSide := make([]float64, len(c.mix)), make([]float64, len(c.mix))
	for i, third := range c.thirds {
		for n, row := range s.secondsOf(ref, lagSec) {
			at, from := i*c.moments+n/c.each, row*multitrack.Thirds+third
			side := float64(s.RowSide[from])
			w.side.mix[at] += side
			w.mid.mix[at] += float64(s.RowMix[from]) - side
			for k, t := range s.tracks {
				if c.power[k] == nil {
					continue
				}
				p, x := t.cell(row, third)
				g := t.gainAt(third)
				q, y := g*g*float64(t.RowSide[from]), g*float64(t.RowSideRe[from])
				w.side.power[k][at] += q
				w.side.re[k][at] += y
				w.mid.power[k][at] += p - q
				w.mid.re[k][at] += x - y
			}
			m, d := halvesAt(ref, float64(row)-lagSec, third)
			refMid[at], refSide[at] = refMid[at]+m, refSide[at]+d
		}
	}
	for at := range w.wantDB {
		w.wantDB[at] = math.NaN()
		if c.mix[at] > 0 {
			w.wantDB[at] = ratioDB(refSide[at], refMid[at])
		}
	}
	w.done = w.side.effects(done)
	return w
}

// halvesAt returns the power of mid and side of a recording in a third octave over one second from
// a time on, interpolated linearly between rows.
func halvesAt(r *measure.Recording, second float64, third int) (mid, side float64) {
	row := int(math.Floor(second))
	part := second - float64(row)
	from, to := multitrack.ThirdBands(third)
	for n, weight := range []float64{1 - part, part} {
		if weight == 0 {
			continue
		}
		for b := from; b < to; b++ {
			at := (row+n)*spectrum.BandCount + b
			m, d := r.Width[at].Split(float64(r.Power[at]))
			mid, side = mid+weight*m, side+weight*d
		}
	}
	return mid, side
}

// ratioDB returns side against mid in dB, clamped to ±widestDB.
func ratioDB(side, mid float64) float64 {
	return min(max(spectrum.PowerToDB(max(side, tiny)/max(mid, tiny)), -widestDB), widestDB)
}

// with returns the power of mid and side of each cell with these gains on the tracks' sides.
func (w *sides) with(sideDB map[int]float64) (mid, side []float64) {
	mid, side = make([]float64, len(w.wantDB)), make([]float64, len(w.wantDB))
	w.mid.changed(w.done, mid)
	e := effects{on: slices.Clone(w.done.on), delta: slices.Clone(w.done.delta), square: slices.Clone(w.done.square)}
	for _, track := range slices.Sorted(maps.Keys(sideDB)) {
		v := spectrum.DBToAmp(sideDB[track])
		n := slices.Index(e.on, track)
		if n < 0 {
			n = len(e.on)
			e.on = append(e.on, track)
			e.delta, e.square = append(e.delta, make([]complex128, multitrack.Thirds)), append(e.square, make([]float64, multitrack.Thirds))
		}
		delta, square := make([]complex128, multitrack.Thirds), make([]float64, multitrack.Thirds)
		for third, d := range e.delta[n] {
			h2 := 1 + 2*real(d) + e.square[n][third] // |H|²
			delta[third] = complex(v, 0)*(1+d) - 1
			square[third] = v*v*h2 - 2*v*(1+real(d)) + 1
		}
		e.delta[n], e.square[n] = delta, square
	}
	w.side.changed(e, side)
	return mid, side
}

// left returns the square root of the mean of Huber's function over what the gains leave, in dB.
func (w *sides) left(sideDB map[int]float64) float64 {
	mid, side := w.with(sideDB)
	sum, count := 0.0, 0
	moments := w.side.moments
	for at, want := range w.wantDB {
		if math.IsNaN(want) || w.without >= 0 && at%moments*w.blocks/moments == w.without {
			continue
		}
		sum, count = sum+huber(want-ratioDB(side[at], mid[at]), outlierDB), count+1
	}
	return math.Sqrt(sum / float64(max(1, count)))
}

// apartDB returns the difference of side against mid, mix minus reference, in each third octave,
// from the mean over all moments; NaN where no cell is used.
func (w *sides) apartDB(sideDB map[int]float64) []float64 {
	mid, side := w.with(sideDB)
	var all []float64
	moments := w.side.moments
	for i := range w.side.thirds {
		m, d, want, n := 0.0, 0.0, 0.0, 0.0
		for at := i * moments; at < (i+1)*moments; at++ {
			if !math.IsNaN(w.wantDB[at]) {
				// The reference's ratio, weighted by the mix's power.
				p := mid[at] + side[at]
				q := spectrum.DBToPower(w.wantDB[at])
				m, d, want, n = m+mid[at], d+side[at], want+p*q/(1+q), n+p
			}
		}
		if n > 0 {
			all = append(all, ratioDB(d, m)-ratioDB(want, n-want))
		} else {
			all = append(all, math.NaN())
		}
	}
	return all
}

// isOff reports whether side against mid is off by more than offWidthDB in some zone.
func (w *sides) isOff(apart []float64) bool {
	sum, count := map[int]float64{}, map[int]float64{}
	for i, third := range w.side.thirds {
		if !math.IsNaN(apart[i]) {
			sum[thirdZone(third)] += apart[i]
			count[thirdZone(third)]++
		}
	}
	for z, v := range sum {
		if math.Abs(v/count[z]) > offWidthDB {
			return true
		}
	}
	return false
}
