package training

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
)

// piece is notes of decaying partials over a falling noise floor: music enough to have
// gaps between its tones.
func piece(sec float64, rateHz int, seed uint64) []float64 {
	rng := rand.New(rand.NewPCG(seed, 6))
	x := make([]float64, int(sec*float64(rateHz)))
	hiss := 0.0
	for i := range x {
		hiss += 0.1 * (0.02*rng.NormFloat64() - hiss)
		x[i] = hiss
	}
	for at := 0.0; at < sec-1; at += 0.12 {
		hz := 40 * math.Pow(2, float64(rng.IntN(60))/12)
		for h := 1.0; h < 16 && h*hz < 0.45*float64(rateHz); h++ {
			level, phase := 0.1/h, 2*math.Pi*rng.Float64()
			turn := cmplx.Rect(math.Exp(-(4+h)/float64(rateHz)), 2*math.Pi*h*hz/float64(rateHz))
			v := cmplx.Rect(level, phase)
			for i := range int(0.5 * float64(rateHz)) {
				x[int(at*float64(rateHz))+i] += real(v)
				v *= turn
			}
		}
	}
	return x
}

func times(x []float64, g float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = g * v
	}
	return y
}
