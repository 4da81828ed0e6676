package tracks

import (
	"maps"
	"math"
	"slices"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/multitrack"
)

// Width is a gain for the side of one track, (L − R)/2, which narrows or widens it and
// leaves its mono sum as it is.
type Width struct {
	Track         int
	SideDB        float64
	LowDB, HighDB float64 // its likely range (95 %)
	Panned        bool    // the track is one sound away from the middle: its pan does the same
	AfterDB       float64 // how far side against mid lies apart after this step
}

const (
	// offWidthDB is by how much side against mid must be off in a zone for widths to be
	// looked at, as match.sidesApartDB has it.
	offWidthDB = 2
	// worthWidthDB is by how much a step must bring the rms of third octaves down, and
	// mostWidths how many there are. Our choice.
	worthWidthDB = 0.3
	mostWidths   = 3
	// leastSideDB and mostSideDB bound a track's gain. Our choice: less is as good as mono, more
	// is another sound. What is widened also keeps no more side than mid, so that left and
	// right do not run against each other (common practice, no source).
	leastSideDB, mostSideDB = -24.0, 6.0
	// widestDB bounds side against mid either way, as match.mostWidthDB does.
	widestDB = 20
	// pannedShare of what one sound away from the middle has: mid and side are then the same
	// sound. Our choice.
	pannedShare = 0.9
)

// sides are the cells of a mix's mid and side with the steps of a plan before.
type sides struct {
	mid, side *search
	done      effects
	wantDB    []float64 // side against mid of the reference; NaN where it does not count
	blocks    int
	without   int // a block that is left out; −1: none
}

// sidesOf returns them, of the same moments as the cells.
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
				q, y := t.gain*t.gain*float64(t.RowSide[from]), t.gain*float64(t.RowSideRe[from])
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

// halvesAt is the power of mid and side of a recording in a third octave from a second on,
// which may lie between rows.
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

// ratioDB is side against mid, held within widestDB.
func ratioDB(side, mid float64) float64 {
	return min(max(spectrum.PowerToDB(max(side, tiny)/max(mid, tiny)), -widestDB), widestDB)
}

// with returns the power of mid and side of each cell with the side of tracks at these gains.
func (w *sides) with(sideDB map[int]float64) (mid, side []float64) {
	mid, side = make([]float64, len(w.wantDB)), make([]float64, len(w.wantDB))
	w.mid.changed(w.done, mid)
	e := effects{on: slices.Clone(w.done.on), delta: slices.Clone(w.done.delta), square: slices.Clone(w.done.square)}
	for _, track := range slices.Sorted(maps.Keys(sideDB)) {
		v := math.Pow(10, sideDB[track]/20)
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

// left is the root of the mean of Huber's function of what gains leave in the cells.
func (w *sides) left(sideDB map[int]float64) float64 {
	mid, side := w.with(sideDB)
	sum, count := 0.0, 0
	moments := w.side.moments
	for at, want := range w.wantDB {
		if math.IsNaN(want) || w.without >= 0 && at%moments*w.blocks/moments == w.without {
			continue
		}
		r := math.Abs(want - ratioDB(side[at], mid[at]))
		if r > outlierDB {
			r = math.Sqrt(outlierDB * (2*r - outlierDB))
		}
		sum, count = sum+r*r, count+1
	}
	return math.Sqrt(sum / float64(max(1, count)))
}

// apartDB returns how far side against mid lies from the reference in each third octave, the
// mix less the reference, as the mean over all moments has it.
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

// isOff reports whether side against mid is off by offWidthDB in a zone.
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

// best returns the gain of one track's side, beside others', that leaves least.
func (w *sides) best(have map[int]float64, track int) (gainDB, left float64) {
	try := func(g float64) float64 {
		with := maps.Clone(have)
		with[track] = g
		return w.left(with)
	}
	most := w.mostSide(track)
	left = math.Inf(1)
	for g := leastSideDB; g <= most; g += 2 {
		if v := try(g); v < left {
			gainDB, left = g, v
		}
	}
	for step := 1.0; step > 0.02; step /= 2 {
		for _, g := range []float64{gainDB - step, gainDB + step} {
			if g = min(max(g, leastSideDB), most); try(g) < left {
				gainDB, left = g, try(g)
			}
		}
	}
	return gainDB, left
}

// mostSide is how far a track may be widened.
func (w *sides) mostSide(track int) float64 {
	mid, side := w.power(track)
	return min(max(spectrum.PowerToDB(max(mid, tiny)/max(side, tiny)), 0), mostSideDB)
}

func (w *sides) power(track int) (mid, side float64) {
	for at := range w.wantDB {
		mid, side = mid+w.mid.power[track][at], side+w.side.power[track][at]
	}
	return mid, side
}

// fit sets the gains of all tracks again, one after another.
func (w *sides) fit(have map[int]float64) {
	if len(have) == 0 {
		return
	}
	for range 3 {
		for _, k := range slices.Sorted(maps.Keys(have)) {
			have[k], _ = w.best(have, k)
		}
		if len(have) == 1 {
			return
		}
	}
}

// widths returns which tracks' sides make the mix wider or narrower than the copy, beside
// actions; none where it is not off.
func (s *session) widths(c *cells, ref *measure.Recording, lagSec float64, done []action) (all []Width, beforeDB float64) {
	if s.r.Mix.Format.Channels < 2 || ref.Format.Channels < 2 {
		return nil, 0
	}
	w := s.sidesOf(c, ref, lagSec, done)
	apart := w.apartDB(nil)
	if !w.isOff(apart) {
		return nil, 0
	}
	beforeDB = rms(apart)
	have := map[int]float64{}
	now, nowDB := w.left(nil), beforeDB
	var order []int
	for len(order) < mostWidths {
		track, least := -1, betterShare*now
		for k := range s.tracks {
			if w.side.power[k] == nil || slices.Contains(order, k) {
				continue
			}
			if _, left := w.best(have, k); left < least {
				track, least = k, left
			}
		}
		if track < 0 {
			break
		}
		next := maps.Clone(have)
		next[track] = 0
		w.fit(next)
		db := rms(w.apartDB(next))
		if db > nowDB-worthWidthDB {
			break
		}
		have, now, nowDB, order = next, w.left(next), db, append(order, track)
	}
	return w.known(have, order), beforeDB
}

// known returns the gains that differ from 0, with their likely ranges.
func (w *sides) known(have map[int]float64, order []int) (all []Width) {
	draws := map[int][]float64{}
	for w.without = range w.blocks {
		part := maps.Clone(have)
		w.fit(part)
		for k, v := range part {
			draws[k] = append(draws[k], v)
		}
	}
	w.without = -1
	kept := map[int]float64{}
	for _, k := range order {
		gain, half := math.Round(10*have[k])/10, jackknife(draws[k])
		if math.Abs(gain) <= half {
			continue
		}
		kept[k] = gain
		mid, side := w.power(k)
		// |L|² − |R|² is twice what mid and side have in common.
		panned := math.Abs(w.side.tracks[k].Balance)*(mid+side) >= pannedShare*2*math.Sqrt(mid*side)
		all = append(all, Width{k, gain, gain - half, gain + half, panned, rms(w.apartDB(kept))})
	}
	return all
}

// rms of what is known.
func rms(all []float64) float64 {
	sum, n := 0.0, 0.0
	for _, v := range all {
		if !math.IsNaN(v) {
			sum, n = sum+v*v, n+1
		}
	}
	return math.Sqrt(sum / max(1, n))
}
