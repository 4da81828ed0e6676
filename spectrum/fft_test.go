package spectrum

import (
	"fmt"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	dsp "github.com/mjibson/go-dsp/fft"
)

// The reference transform is go-dsp's, itself checked against FFTW elsewhere;
// double rounding over 17 passes stays near 1e-15 of the largest bin.
func TestTransformAgainstGoDSP(t *testing.T) {
	const tolerance = 1e-13 // of the largest bin
	rng := rand.New(rand.NewPCG(1, 2))
	for n := 2; n <= 1<<17; n *= 2 {
		x := make([]complex128, n)
		for i := range x {
			x[i] = complex(rng.NormFloat64(), rng.NormFloat64())
		}
		want := dsp.FFT(x)
		NewTransform(n).Forward(x)
		largest, worst := 0.0, 0.0
		for k := range want {
			largest = max(largest, cmplx.Abs(want[k]))
			worst = max(worst, cmplx.Abs(want[k]-x[k]))
		}
		if worst > tolerance*largest {
			t.Errorf("length %d: off by %g of the largest bin, want ≤ %g", n, worst/largest, tolerance)
		}
	}
}

func BenchmarkTransform(b *testing.B) {
	const n = 16384
	x := make([]complex128, n)
	for i := range x {
		x[i] = complex(float64(i%37)-18, float64(i%91)-45)
	}
	b.Run(fmt.Sprintf("ours/%d", n), func(b *testing.B) {
		f := NewTransform(n)
		b.SetBytes(16 * n)
		b.ReportAllocs()
		for b.Loop() {
			f.Forward(x)
			for i := range x { // keep the numbers finite
				x[i] *= 1.0 / 128
			}
		}
	})
	b.Run(fmt.Sprintf("go-dsp/%d", n), func(b *testing.B) {
		b.SetBytes(16 * n)
		b.ReportAllocs()
		for b.Loop() {
			dsp.FFT(x)
		}
	})
}
