package spectrum

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The coherence of noises with a known part in common is that part, and a sketch of a sum
// is the sum of the sketches.
func TestSketch(t *testing.T) {
	const rateHz, sec = 44100, 20
	rng := rand.New(rand.NewPCG(7, 1))
	noise := func() []float64 {
		x := make([]float64, rateHz*sec)
		for i := range x {
			x[i] = rng.NormFloat64()
		}
		return x
	}
	shared, own, apart := noise(), noise(), noise()
	mix := make([]float64, len(shared))
	second := make([]float64, len(shared))
	for i := range shared {
		second[i] = 0.6*shared[i] + 0.8*own[i]
		mix[i] = shared[i] + second[i] + apart[i]
	}
	both := func(x []float64) [][]float64 { return [][]float64{x, x} }
	c := NewCrossAnalyser(rateHz, 2, 3, func(int, *Bands, []CrossBands) {})
	c.KeepSketches(func(int) float64 { return 1 })
	c.Add(both(mix), [][][]float64{both(shared), both(second), both(apart)})
	for _, x := range []struct {
		a, b int
		want float64
	}{{0, 1, 0.6}, {0, 2, 0}, {1, 2, 0}, {0, -1, 1.6 / math.Sqrt(1.6*1.6+0.8*0.8+1)}} {
		for third, got := range Coherence(c.Sketch(x.a), c.Sketch(x.b)) {
			// Below 100 Hz there are few independent values in 20 s: 1/√(bandwidth·time).
			chance := 1 / math.Sqrt(0.23*19.95*math.Pow(10, float64(third)/10)*sec)
			if third == 0 {
				continue // half a third octave
			}
			if math.Abs(got-x.want) > 4*math.Hypot(SketchDeviation, chance) {
				t.Errorf("%d with %d in third %d: %.3f, want %.3f", x.a, x.b, third, got, x.want)
			}
		}
	}
	// Without the third noise a share of 1 in 1.6² + 0.8² + 1 of the mix is left.
	for third, got := range Unexplained(c.Sketch(-1), []*Sketch{c.Sketch(0), c.Sketch(1)}, []float64{1, 1}) {
		chance := 1 / math.Sqrt(0.23*19.95*math.Pow(10, float64(third)/10)*sec)
		if want := 1 / (1.6*1.6 + 0.8*0.8 + 1); third > 0 && math.Abs(got-want) > 4*math.Hypot(SketchDeviation, chance) {
			t.Errorf("unexplained in third %d: %.3f, want %.3f", third, got, want)
		}
	}
	for third, got := range Unexplained(c.Sketch(-1), []*Sketch{c.Sketch(0), c.Sketch(1), c.Sketch(2)}, []float64{1, 1, 1}) {
		if got > 1e-4 { // single precision
			t.Errorf("unexplained by all in third %d: %g", third, got)
		}
	}
	for third, got := range Coherence(c.Sketch(2), c.Sketch(2)) {
		if math.Abs(got-1) > 5*math.Sqrt2*SketchDeviation { // |Y|² of 1024 sums
			t.Errorf("with itself in third %d: %.3f", third, got)
		}
	}
}
