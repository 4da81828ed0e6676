package fit

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
)

// moveSet is a set of moves with its cost, the mean square residual in dB².
type moveSet struct {
	moves []move
	cost  float64
}

// Damping of the descent, relative to the diagonal of the normal matrix. Our
// choice, from trials: it starts low enough for a near-Gauss-Newton first step.
const (
	firstDamping = 1e-2
	leastDamping = 1e-7
	mostDamping  = 1e5
	// floorDamping times the damping is added to the diagonal, in dB² per squared unit of
	// the parameter. Without it a move at 0 dB, whose frequency and width have no effect,
	// could run away along them.
	floorDamping = 1e-3
)

// descend improves the moves of c by the Levenberg–Marquardt method, for at most steps
// steps, until one lowers the cost by less than the fraction enough. It stays inside
// the ranges and leaves fixed parameters alone. Sources: K. Levenberg, 1944; D.
// Marquardt, 1963 (from memory). The ranges are handled as an active set: a parameter
// that would leave its range is put on the border, and the others are solved for again.
func (m *model) descend(c *moveSet, steps int, enough float64) {
	n := 3 * len(c.moves)
	if n == 0 {
		c.cost = m.cost(nil)
		return
	}
	for i := range c.moves {
		if mv := &c.moves[i]; m.p.LeastGainDB > 0 && !mv.fixed[biquad.ByGainDB] {
			b := m.boxOf(mv)
			mv.at = b.clamp(mv.at)
		}
	}
	q := newQuadratic(n)
	trial := make([]move, len(c.moves))
	damping := firstDamping
	for range steps {
		c.cost = m.linearise(c.moves)
		m.normal(q, c.moves)
		gained := false
		for !gained && damping < mostDamping {
			if !q.minimise(m, c.moves, damping) {
				return
			}
			copy(trial, c.moves)
			for i := range trial {
				t := &trial[i]
				b := m.boxOf(t)
				for j := range t.at {
					t.at[j] += q.step[3*i+j]
				}
				t.at = b.clamp(t.at)
			}
			cost := m.cost(trial)
			if cost < c.cost {
				gained = true
				gain := c.cost - cost
				copy(c.moves, trial)
				c.cost = cost
				damping = max(damping/8, leastDamping)
				if gain <= enough*cost {
					return
				}
			} else {
				damping *= 6
			}
		}
		if !gained {
			return
		}
	}
}

// quadratic is the local model of the cost: cost + 2·gradient·step +
// step·hessian·step, with the Gauss-Newton approximation of the Hessian.
type quadratic struct {
	n        int
	hessian  []float64 // n×n, row-major
	gradient []float64
	step     []float64
	free     []int
	factor   []float64
	right    []float64
}

func newQuadratic(n int) *quadratic {
	return &quadratic{
		n: n, hessian: make([]float64, n*n), gradient: make([]float64, n), step: make([]float64, n),
		free: make([]int, 0, n), factor: make([]float64, n*n), right: make([]float64, n),
	}
}

// normal fills q from the last call of linearise, which must have been at moves.
func (m *model) normal(q *quadratic, moves []move) {
	for i := range q.n {
		row := m.jacobian[i]
		q.gradient[i] = floats.Dot(row, m.residual)
		for j := range i + 1 {
			h := floats.Dot(row, m.jacobian[j])
			q.hessian[i*q.n+j], q.hessian[j*q.n+i] = h, h
		}
	}
	for k := range moves {
		i := 3*k + biquad.ByGainDB
		gainDB := moves[k].at[biquad.ByGainDB]
		q.gradient[i] += m.p.price(gainDB) * gainDB
		q.hessian[i*q.n+i] += m.p.price(gainDB)
	}
}

// minimise sets q.step to the damped minimum inside the ranges and reports whether any
// parameter is free to move.
func (q *quadratic) minimise(m *model, moves []move, damping float64) bool {
	q.free = q.free[:0]
	for i := range q.n {
		q.step[i] = 0
		mv := &moves[i/3]
		b, x := m.boxOf(mv), mv.at[i%3]
		outward := x <= b.low[i%3] && q.gradient[i] > 0 || x >= b.high[i%3] && q.gradient[i] < 0
		if !mv.fixed[i%3] && !outward {
			q.free = append(q.free, i)
		}
	}
	if len(q.free) == 0 {
		return false
	}
	for len(q.free) > 0 {
		q.solve(damping)
		inside := q.free[:0]
		for _, i := range q.free {
			mv := &moves[i/3]
			b, x := m.boxOf(mv), mv.at[i%3]
			switch {
			case x+q.step[i] < b.low[i%3]:
				q.step[i] = b.low[i%3] - x
			case x+q.step[i] > b.high[i%3]:
				q.step[i] = b.high[i%3] - x
			default:
				inside = append(inside, i)
			}
		}
		if len(inside) == len(q.free) {
			break
		}
		q.free = inside
	}
	return true
}

// solve sets the free steps to the damped minimum, given the others.
func (q *quadratic) solve(damping float64) {
	for _, i := range q.free {
		q.step[i] = 0
	}
	n := len(q.free)
	for a, i := range q.free {
		row := q.hessian[i*q.n : (i+1)*q.n]
		right := -q.gradient[i]
		for j, s := range q.step {
			right -= row[j] * s
		}
		q.right[a] = right
		for b, j := range q.free[:a+1] {
			q.factor[a*n+b] = row[j]
		}
		q.factor[a*n+a] += damping*row[i] + floorDamping*damping
	}
	cholesky(q.factor, n)
	forward(q.factor, q.right[:n])
	backward(q.factor, q.right[:n])
	for a, i := range q.free {
		q.step[i] = q.right[a]
	}
}

// cholesky replaces the lower triangle of the symmetric positive definite n×n matrix
// a, row-major, by its factor L with a = L·Lᵀ.
func cholesky(a []float64, n int) {
	for i := range n {
		row := a[i*n : i*n+i+1]
		for j := range i {
			other := a[j*n : j*n+j+1]
			row[j] = (row[j] - floats.Dot(row[:j], other[:j])) / other[j]
		}
		row[i] = math.Sqrt(row[i] - floats.Dot(row[:i], row[:i]))
	}
}

// forward replaces b by the solution of L·x = b.
func forward(l, b []float64) {
	n := len(b)
	for i := range n {
		row := l[i*n : i*n+i+1]
		b[i] = (b[i] - floats.Dot(row[:i], b[:i])) / row[i]
	}
}

// backward replaces b by the solution of Lᵀ·x = b.
func backward(l, b []float64) {
	n := len(b)
	for i := n - 1; i >= 0; i-- {
		row := l[i*n : i*n+i+1]
		b[i] /= row[i]
		for j := range i {
			b[j] -= row[j] * b[i]
		}
	}
}
