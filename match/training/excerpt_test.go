package training

import "testing"

// The first seconds of an excerpt are its own, and end in silence.
func TestFirst(t *testing.T) {
	const rate = 8000
	x := make([]float64, 4*rate)
	for i := range x {
		x[i] = 1
	}
	e := &Excerpt{RateHz: rate, Sound: [][]float64{x, x}}
	part := e.First(2.5)
	if part.Sec() != 2.5 || part.Sound[1][0] != 1 || part.Sound[0][2.5*rate-1] != 0 || x[2.5*rate-1] != 1 {
		t.Errorf("%g s, from %g to %g; the whole now ends that part in %g", part.Sec(), part.Sound[1][0], part.Sound[0][2.5*rate-1], x[2.5*rate-1])
	}
	if e.First(9) != e {
		t.Error("more than there is")
	}
}
