package spectrum

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// The inverse against its defining sum, and after the forward transform.
func TestInverse(t *testing.T) {
	const tolerance = 1e-13 // of values near 1, through sums of 64
	for _, n := range []int{2, 4, 8, 64} {
		rng := rand.New(rand.NewPCG(uint64(n), 1))
		x := make([]complex128, n)
		for i := range x {
			x[i] = complex(rng.NormFloat64(), rng.NormFloat64())
		}
		plan := NewTransform(TransformLength(n))
		there := append([]complex128(nil), x...)
		plan.Forward(there)
		plan.Inverse(there)
		byHand := append([]complex128(nil), x...)
		plan.Inverse(byHand)
		for i := range x {
			sum := complex(0, 0)
			for k, v := range x {
				sum += v * cmplx.Rect(1/float64(n), 2*math.Pi*float64(k*i)/float64(n))
			}
			if cmplx.Abs(there[i]-x[i]) > tolerance || cmplx.Abs(byHand[i]-sum) > tolerance {
				t.Errorf("%d values, %d: %v there and back of %v; inverse %v, sum %v", n, i, there[i], x[i], byHand[i], sum)
			}
		}
	}
	if TransformLength(1) != 2 || TransformLength(65) != 128 {
		t.Error("lengths are no powers of two")
	}
}
