package tracks

import (
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/multitrack"
)

// Width is a gain on the side of one track, (L − R)/2. It narrows or widens the track and leaves
// its mono sum unchanged.
type Width struct {
	Track         int
	SideDB        float64
	LowDB, HighDB float64 // likely range (95 %)
	Panned        bool    // the track is one sound off centre: its pan does the same
	AfterDB       float64 // distance of side against mid after this step, rms over third octaves
}

const (
	// offWidthDB is the smallest error of side against mid in a zone for which widths are
	// considered, the same as match.sidesApartDB.
	offWidthDB = 2
	// worthWidthDB is by how much each step must reduce the rms over third octaves; mostWidths is
	// the largest number of steps. Our choice.
	worthWidthDB = 0.3
	mostWidths   = 3
	// hiddenDB is the residual of side against mid in the cells above which faders do not explain
	// it. Our choice: faders that explain it leave less than a tenth.
	hiddenDB = 0.3
	// leastSideDB and mostSideDB bound a track's gain. Our choice: less is as good as mono, more is
	// another sound. A widened track also keeps no more side than mid, so that left and right do
	// not cancel in mono (common practice, no source).
	leastSideDB, mostSideDB = -24.0, 6.0
	// widestDB bounds side against mid, up and down, the same as match.mostWidthDB.
	widestDB = 20
	// pannedShare is the share of the balance of one sound off centre above which mid and side are
	// taken to be the same sound. Our choice.
	pannedShare = 0.9
)

// best returns the gain of one track's side, beside the others', that leaves least.
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

// mostSide returns the largest gain in dB for a track's side.
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

// fit refits the gains of all tracks, one after another, in place.
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

// widths returns the side gains that bring the mix's width to the copy's, beside actions, and the
// distance before; none if the width is not off.
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

// known returns the gains whose likely range excludes 0, with these ranges.
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
		gain, half := math.Round(10*have[k])/10, likelyDB(draws[k])
		if math.Abs(gain) <= half {
			continue
		}
		kept[k] = gain
		mid, side := w.power(k)
		// |L|² − |R|² is twice the cross-spectrum of mid and side.
		panned := math.Abs(w.side.tracks[k].Balance)*(mid+side) >= pannedShare*2*math.Sqrt(mid*side)
		all = append(all, Width{k, gain, gain - half, gain + half, panned, rms(w.apartDB(kept))})
	}
	return all
}

// rms returns the root mean square of the values that are not NaN.
func rms(all []float64) float64 {
	known := slices.DeleteFunc(slices.Clone(all), math.IsNaN)
	return floats.Norm(known, 2) / math.Sqrt(float64(max(1, len(known))))
}

// narrowed returns the session with the widths of some tracks set, so that faders and filters are
// fitted to what remains: a wide track is also a loud one. Coherence between the sides of two
// tracks is ignored.
func (s *session) narrowed(widths []Width) *session {
	out, table, result, comparison := *s, *s.Table, *s.r, *s.r.Comparison
	table.MixPower, table.RowMix = slices.Clone(s.MixPower), slices.Clone(s.RowMix)
	out.tracks = nil
	for i, t := range s.tracks {
		x, raw := *t, *t.Track
		x.Track = &raw
		for _, w := range widths {
			if w.Track == i {
				x.narrow(spectrum.DBToAmp(w.SideDB), &table)
			}
		}
		out.tracks = append(out.tracks, &x)
	}
	out.Table = &table
	out.widthsDB = s.changeOf(table.MixPower)
	comparison.DifferenceDB = slices.Clone(comparison.DifferenceDB)
	floats.Sub(comparison.DifferenceDB, s.smoother.Smooth(nil, out.widthsDB))
	result.Comparison = &comparison
	out.r = &result
	return &out
}

// narrow scales the side of a track, with gain g in the mix, by v:
//
//	|M'|² = |M|² + 2g(v−1)·Re(T_S·M_S*) + g²(v−1)²·|T_S|²
//	T'·M'* = T_M·M_M* + v·(T_S·M_S* + g(v−1)·|T_S|²)
func (t *track) narrow(v float64, mix *multitrack.Table) {
	cell := func(g, mix, power, re, side, sideRe float64) (m, p, x float64) {
		return mix + 2*g*(v-1)*sideRe + g*g*(v-1)*(v-1)*side, power + (v*v-1)*side, re - sideRe + v*(sideRe+g*(v-1)*side)
	}
	t.power, t.re = slices.Clone(t.power), slices.Clone(t.re)
	for b := range spectrum.BandCount {
		g := t.gainInBand(b)
		m, p, x := cell(g, mix.MixPower[b], t.Power[b], t.Re[b], t.Side[b], t.SideRe[b])
		mix.MixPower[b], t.power[b], t.re[b] = m, g*g*p, g*x
	}
	raw := t.Track
	raw.RowPower, raw.RowRe = slices.Clone(raw.RowPower), slices.Clone(raw.RowRe)
	for i, side := range raw.RowSide {
		m, p, x := cell(t.gainAt(i%multitrack.Thirds), float64(mix.RowMix[i]), float64(raw.RowPower[i]), float64(raw.RowRe[i]), float64(side), float64(raw.RowSideRe[i]))
		mix.RowMix[i], raw.RowPower[i], raw.RowRe[i] = float32(m), float32(p), float32(x)
	}
}
