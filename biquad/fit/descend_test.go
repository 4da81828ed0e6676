package fit

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The gradient, with the price of the gains included, against differences of the cost.
func TestGradient(t *testing.T) {
	const h, tol = 1e-4, 1e-5 // h²/6 of the third derivative of a cost of some dB²
	p := problem(songCurves(t)[0].TargetDB, make([]bool, 240))
	p.GainPrice = 0.1 // a fifth of the gradient and more
	m := newModel(&p)
	random := rand.New(rand.NewPCG(9, 10))
	for range 10 {
		moves := m.randomMoves(random, 4)
		q := newQuadratic(3 * len(moves))
		m.linearise(moves)
		m.normal(q, moves)
		for i, got := range q.gradient {
			at := &moves[i/3].at[i%3]
			x := *at
			*at = x + h
			up := m.cost(moves)
			*at = x - h
			down := m.cost(moves)
			*at = x
			if want := (up - down) / (4 * h); !(math.Abs(got-want) <= tol*max(1, math.Abs(want))) {
				t.Errorf("parameter %d of move %d: %.8f, by differences %.8f", i%3, i/3, got, want)
			}
		}
	}
}

// The step is the minimum of the damped quadratic inside the ranges: no parameter leaves
// its range, and a fixed one does not move. The slope is 0 along every free parameter
// that stays inside. Most of those on a border would cross it if they could: four of five
// here, since one that was put there is not tried again.
func TestStepInsideRanges(t *testing.T) {
	const tol = 1e-9 // solutions of well-conditioned systems of 12 by Cholesky
	p := problem(songCurves(t)[1].TargetDB, make([]bool, 240))
	p.GainPrice = 0.002
	m := newModel(&p)
	random := rand.New(rand.NewPCG(11, 12))
	onBorder, outward, inside := 0, 0, 0
	for round := range 200 {
		moves := m.randomMoves(random, 4)
		for i := range moves {
			moves[i].fixed[random.IntN(3)] = round%2 == 0
		}
		q := newQuadratic(3 * len(moves))
		m.linearise(moves)
		m.normal(q, moves)
		damping := math.Pow(10, 2-6*random.Float64())
		if !q.minimise(m, moves, damping) {
			continue
		}
		for i, step := range q.step {
			mv := &moves[i/3]
			low, high, x := m.boxes[mv.shape].low[i%3], m.boxes[mv.shape].high[i%3], mv.at[i%3]
			slope := q.gradient[i] + damping*(q.hessian[i*q.n+i]+floorDamping)*step
			for j, other := range q.step {
				slope += q.hessian[i*q.n+j] * other
			}
			at := x + step
			switch {
			case mv.fixed[i%3]:
				if step != 0 {
					t.Errorf("a fixed parameter moves by %g", step)
				}
			case at < low-tol || at > high+tol:
				t.Errorf("parameter %d of move %d leaves %g to %g for %g", i%3, i/3, low, high, at)
			case math.Abs(at-low) <= tol || math.Abs(at-high) <= tol:
				onBorder++
				if (slope > 0) == (math.Abs(at-low) <= tol) {
					outward++
				}
			default:
				inside++
				if scale := math.Abs(q.gradient[i]) + q.hessian[i*q.n+i] + 1; !(math.Abs(slope) <= tol*scale) {
					t.Errorf("parameter %d of move %d is inside its range and %g is left of the slope", i%3, i/3, slope)
				}
			}
		}
	}
	if share := float64(outward) / float64(onBorder); share < 0.7 {
		t.Errorf("only %.2f of those on a border would cross it", share)
	}
	if onBorder < 50 || inside < 500 {
		t.Errorf("only %d parameters came to a border and %d stayed inside", onBorder, inside)
	}
}
