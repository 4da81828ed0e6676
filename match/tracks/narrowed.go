package tracks

import (
	"math"
	"slices"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure/multitrack"
)

// narrowed returns the session as it is with the widths of some tracks set, so that faders and
// filters are looked for in what is left: a wide track is also a loud one. How the sides of
// two tracks run together is left out.
func (s *session) narrowed(widths []Width) *session {
	out, table, result, comparison := *s, *s.Table, *s.r, *s.r.Comparison
	table.MixPower, table.RowMix = slices.Clone(s.MixPower), slices.Clone(s.RowMix)
	out.tracks = nil
	for i, t := range s.tracks {
		x, raw := *t, *t.Track
		x.Track = &raw
		for _, w := range widths {
			if w.Track == i {
				x.narrow(math.Pow(10, w.SideDB/20), &table)
			}
		}
		out.tracks = append(out.tracks, &x)
	}
	out.Table = &table
	out.widthsDB = s.changeOf(table.MixPower)
	change := s.smoother.Smooth(nil, out.widthsDB)
	comparison.DifferenceDB = slices.Clone(comparison.DifferenceDB)
	for b := range change {
		comparison.DifferenceDB[b] -= change[b]
	}
	result.Comparison = &comparison
	out.r = &result
	return &out
}

// narrow scales the side of a track that stands in the mix at its gain g by v:
//
//	|M'|² = |M|² + 2g(v−1)·Re(T_S·M_S*) + g²(v−1)²·|T_S|²
//	T'·M'* = T_M·M_M* + v·(T_S·M_S* + g(v−1)·|T_S|²)
func (t *track) narrow(v float64, mix *multitrack.Table) {
	g := t.gain
	cell := func(mix, power, re, side, sideRe float64) (m, p, x float64) {
		return mix + 2*g*(v-1)*sideRe + g*g*(v-1)*(v-1)*side, power + (v*v-1)*side, re - sideRe + v*(sideRe+g*(v-1)*side)
	}
	t.power, t.re = slices.Clone(t.power), slices.Clone(t.re)
	for b := range spectrum.BandCount {
		m, p, x := cell(mix.MixPower[b], t.Power[b], t.Re[b], t.Side[b], t.SideRe[b])
		mix.MixPower[b], t.power[b], t.re[b] = m, g*g*p, g*x
	}
	raw := t.Track
	raw.RowPower, raw.RowRe = slices.Clone(raw.RowPower), slices.Clone(raw.RowRe)
	for i, side := range raw.RowSide {
		m, p, x := cell(float64(mix.RowMix[i]), float64(raw.RowPower[i]), float64(raw.RowRe[i]), float64(side), float64(raw.RowSideRe[i]))
		mix.RowMix[i], raw.RowPower[i], raw.RowRe[i] = float32(m), float32(p), float32(x)
	}
}
