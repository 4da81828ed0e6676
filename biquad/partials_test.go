package biquad

import (
	"math"
	"testing"
)

func TestPartials(t *testing.T) {
	// Differences over ±h and ±2h err by h⁴/30 of the fifth derivative, which is up
	// to 2e6 times the first at Q 8: 4e-9. Rounding adds 1e-14 dB / h.
	const h, tol = 5e-4, 1e-7
	for _, rate := range []float64{22050, 192000} {
		filters := append(manyFilters(rate), Filter{LowCut, 30, 0, 0, 18}, Filter{HighCut, 8000, 0, 0, 48})
		freqs := []float64{20, 90, 400, 1000, 5000, 10500}
		warp := Warp(nil, freqs, rate)
		for _, f := range filters {
			got := partialsDB(f, warp, rate)
			for i := range partials {
				if f.Shape.IsCut() && i != ByLnFreq {
					continue
				}
				if f.FreqHz*math.Exp(2*h) >= rate/2 {
					continue
				}
				at := func(steps float64) []float64 {
					return ResponseDB(nil, []Filter{moved(f, i, steps*h)}, freqs, rate)
				}
				down2, down, up, up2 := at(-2), at(-1), at(1), at(2)
				for j := range freqs {
					want := (8*(up[j]-down[j]) - (up2[j] - down2[j])) / (12 * h)
					if !(math.Abs(got[i][j]-want) <= tol*max(1, math.Abs(want))) {
						t.Errorf("%s at %g Hz, rate %g: partial %d is %.9f, differences %.9f ± %g", describe(f), freqs[j], rate, i, got[i][j], want, tol)
					}
				}
			}
		}
	}
}

// moved returns f with one parameter (ByLnFreq, ByGainDB, ByWidth) moved by h.
func moved(f Filter, parameter int, h float64) Filter {
	slope := SlopeFromQ(f.Q, f.GainDB)
	switch parameter {
	case ByLnFreq:
		f.FreqHz *= math.Exp(h)
	case ByGainDB:
		f.GainDB += h
	case ByWidth:
		slope += h
		f.Q *= math.Exp(h)
	}
	if f.Shape == LowShelf || f.Shape == HighShelf {
		f.Q = QFromSlope(slope, f.GainDB)
	}
	return f
}

func partialsDB(f Filter, warp []float64, rateHz float64) [partials][]float64 {
	var sum, one [partials][]float64
	for i := range sum {
		sum[i], one[i] = make([]float64, len(warp)), make([]float64, len(warp))
	}
	power := make([]float64, len(warp))
	for _, m := range f.Magnitudes(rateHz) {
		m.PartialsDB(&one, power, warp)
		for i := range sum {
			for j, x := range one[i] {
				sum[i][j] += x
			}
		}
	}
	return sum
}
