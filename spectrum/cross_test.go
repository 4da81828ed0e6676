package spectrum

import (
	"math"
	"math/rand/v2"
	"testing"
)

// What a track and a mix have in their sides is what their sides have, taken as recordings.
func TestSides(t *testing.T) {
	const rateHz = 44100
	rng := rand.New(rand.NewPCG(9, 1))
	stereo := func() [][]float64 {
		x := [][]float64{make([]float64, rateHz), make([]float64, rateHz)}
		for i := range x[0] {
			m, s := rng.NormFloat64(), 0.3*rng.NormFloat64()
			x[0][i], x[1][i] = m+s, m-s
		}
		return x
	}
	sides := func(x [][]float64) [][]float64 {
		y := make([]float64, rateHz)
		for i := range y {
			y[i] = (x[0][i] - x[1][i]) / math.Sqrt2
		}
		return [][]float64{y, make([]float64, rateHz)}
	}
	track, mix := stereo(), stereo()
	for c := range mix {
		for i, v := range track[c] {
			mix[c][i] += v
		}
	}
	var got, want []CrossBands
	NewCrossAnalyser(rateHz, 2, 1, func(_ int, _ *Bands, b []CrossBands) { got = append(got, b[0]) }).Add(mix, [][][]float64{track})
	NewCrossAnalyser(rateHz, 2, 1, func(_ int, _ *Bands, b []CrossBands) { want = append(want, b[0]) }).Add(sides(mix), [][][]float64{sides(track)})
	if len(got) == 0 || len(got) != len(want) {
		t.Fatalf("%d windows, want %d", len(got), len(want))
	}
	const tolerance = 1e-9 // rounding, of the power
	for w := range got {
		for b := range BandCount {
			g, x := got[w], want[w]
			if math.Abs(g.Side[b]-x.Power[b]) > tolerance*g.Power[b] || math.Abs(g.SideRe[b]-x.Re[b]) > tolerance*g.Power[b] {
				t.Fatalf("window %d, %.0f Hz: side %g with %g, want %g with %g", w, CentreHz(b), g.Side[b], g.SideRe[b], x.Power[b], x.Re[b])
			}
		}
	}
	NewCrossAnalyser(rateHz, 1, 1, func(_ int, _ *Bands, b []CrossBands) {
		if b[0].Side != [BandCount]float64{} || b[0].SideRe != [BandCount]float64{} {
			t.Error("mono has sides")
		}
	}).Add(mix[:1], [][][]float64{track[:1]})
}
