package fit

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/spectrum"
)

// The windows that the model keeps smooth as the smoother does.
func TestWindows(t *testing.T) {
	const tol = 1e-12 // dB; sums in another order
	leftOut := make([]bool, 240)
	for _, band := range []int{0, 1, 50, 120, 121, 200} {
		leftOut[band] = true
	}
	random := rand.New(rand.NewPCG(3, 4))
	db := make([]float64, 240)
	for i := range db {
		db[i] = random.NormFloat64()
	}
	for _, s := range []Smoother{spectrum.NewSmoother(leftOut, 1.0/3), spectrum.NewSmoother(leftOut, 1), nil} {
		p := problem(make([]float64, 240), leftOut)
		p.Smoother = s
		m := newModel(&p)
		got, want := make([]float64, len(m.judged)), db
		m.smoothJudged(got, db)
		if s != nil {
			want = s.Smooth(make([]float64, 240), db)
		}
		for i, band := range m.judged {
			if !(math.Abs(got[i]-want[band]) <= tol) {
				t.Errorf("band %d: %.15g, want %.15g ± %g", band, got[i], want[band], tol)
			}
		}
	}
}

// The rows of the jacobian against differences of the residual.
func TestJacobian(t *testing.T) {
	const h, tol = 1e-4, 1e-6 // h²/6 of the third derivative, 1e-14 dB / h of rounding
	p := problem(songCurves(t)[0].TargetDB, make([]bool, 240))
	m := newModel(&p)
	random := rand.New(rand.NewPCG(5, 6))
	for range 20 {
		moves := m.randomMoves(random, 4)
		cost := m.linearise(moves)
		if again := m.cost(moves); !(math.Abs(cost-again) <= 1e-12*cost) {
			t.Errorf("cost %.15g by linearise, %.15g by cost", cost, again)
		}
		for row, partial := range m.jacobian[:3*len(moves)] {
			at := &moves[row/3].at[row%3]
			x := *at
			*at = x + h
			m.cost(moves)
			up := append([]float64(nil), m.residual...)
			*at = x - h
			m.cost(moves)
			*at = x
			for i, down := range m.residual {
				want := (up[i] - down) / (2 * h)
				if !(math.Abs(partial[i]-want) <= tol) {
					t.Fatalf("%v, parameter %d, point %d: %.9f, by differences %.9f ± %g", moves[row/3].shape, row%3, i, partial[i], want, tol)
				}
			}
		}
	}
}

// A move becomes a filter and comes back.
func TestMoveIsFilter(t *testing.T) {
	const tol = 1e-12 // a few roundings
	for _, f := range []biquad.Filter{
		{Shape: biquad.LowShelf, FreqHz: 100, GainDB: -4, Q: 0.5},
		{Shape: biquad.Bell, FreqHz: 1000, GainDB: 3, Q: 1.4},
		{Shape: biquad.HighShelf, FreqHz: 8000, GainDB: 0, Q: 0.7},
	} {
		m := toMove(f)
		g := m.filter()
		if !(math.Abs(g.FreqHz/f.FreqHz-1) <= tol && g.GainDB == f.GainDB && math.Abs(g.Q/f.Q-1) <= tol && g.Shape == f.Shape) {
			t.Errorf("%+v came back as %+v", f, g)
		}
	}
}

// The factor of a matrix made from a known one, and the two halves of a solution.
func TestCholesky(t *testing.T) {
	const tol = 1e-11 // a well-conditioned 6×6 system
	const n = 6
	random := rand.New(rand.NewPCG(7, 8))
	full := make([]float64, n*n) // B·Bᵀ + I
	b := make([]float64, n*n)
	for i := range b {
		b[i] = random.NormFloat64()
	}
	for i := range n {
		for j := range n {
			full[i*n+j] = floats.Dot(b[i*n:i*n+n], b[j*n:j*n+n])
		}
		full[i*n+i]++
	}
	want := []float64{1, -2, 3, -4, 5, -6}
	x := make([]float64, n)
	for i := range n {
		x[i] = floats.Dot(full[i*n:i*n+n], want)
	}
	cholesky(full, n)
	forward(full, x)
	backward(full, x)
	for i := range want {
		if !(math.Abs(x[i]-want[i]) <= tol) {
			t.Errorf("x[%d] = %.15g, want %g", i, x[i], want[i])
		}
	}
}

func BenchmarkLinearise(b *testing.B) {
	p := problem(make([]float64, 240), make([]bool, 240))
	m := newModel(&p)
	moves := m.randomMoves(rand.New(rand.NewPCG(1, 2)), 5)
	b.ReportAllocs()
	for b.Loop() {
		m.linearise(moves)
	}
}
