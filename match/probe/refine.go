package probe

import (
	"math"

	"toneplumb/biquad"
)

// curve is a measured response: gains in dB with weights, at a rate.
type curve struct {
	freqHz, db, weight []float64
	rateHz             float64
	held               bool // the level is fixed at 0
}

// Gaussian priors on each parameter around its start (one standard deviation). They pin
// parameters that the curve does not determine, such as those of two overlapping bells.
// curveDB is the curve's own error. All our choice.
const (
	priorOct  = 1.0
	priorDB   = 3.0
	priorQ    = 0.5 // of ln Q
	priorS    = 0.3
	curveDB   = 0.02
	steepestQ = 4.0 // of shelves, see bound
	mostSteps = 60
)

// refine fits filters and a free level to the curve, starting at start. It returns them and the
// remaining rms in dB. Method: Levenberg–Marquardt with the analytic derivatives of biquad.
func (c curve) refine(start []biquad.Filter) (filters []biquad.Filter, levelDB, restDB float64) {
	n := 3*len(start) + 1
	at := make([]float64, n)
	for i, f := range start {
		at[3*i], at[3*i+1], at[3*i+2] = math.Log(f.FreqHz), f.GainDB, widthOf(f)
	}
	at[n-1] = c.level(start)
	c.bound(start, at)
	home := append([]float64(nil), at...)
	cost, A, g := c.normal(start, at, home)
	damp := 1e-3
	for range mostSteps {
		next := solve(A, g, damp)
		for i := range next {
			next[i] += at[i]
		}
		c.bound(start, next)
		less, A2, g2 := c.normal(start, next, home)
		if !(less < cost) {
			if damp *= 8; damp > 1e8 {
				break
			}
			continue
		}
		done := cost-less < 1e-10*cost
		at, cost, A, g = next, less, A2, g2
		damp = math.Max(damp/8, 1e-9)
		if done {
			break
		}
	}
	filters = filtersAt(start, at)
	return filters, at[n-1], c.rms(filters, at[n-1])
}

// normal returns the cost at a point and the normal equations of a step from there.
func (c curve) normal(start []biquad.Filter, at, home []float64) (cost float64, A [][]float64, g []float64) {
	n := len(at)
	A, g = make([][]float64, n), make([]float64, n)
	for i := range A {
		A[i] = make([]float64, n)
	}
	points := len(c.freqHz)
	t := biquad.Warp(nil, c.freqHz, c.rateHz)
	power := make([]float64, points)
	for i := range power {
		power[i] = 1
	}
	slopes := make([][]float64, n)
	for i := range slopes {
		slopes[i] = make([]float64, points)
	}
	for i := range slopes[n-1] {
		if !c.held {
			slopes[n-1][i] = 1
		}
	}
	if c.held {
		A[n-1][n-1] = 1
	}
	for i, f := range filtersAt(start, at) {
		m := f.Magnitude(c.rateHz)
		m.PartialsDB((*[3][]float64)(slopes[3*i:3*i+3]), power, t)
	}
	for p, w := range c.weight {
		if w == 0 {
			continue
		}
		w /= curveDB * curveDB
		rest := c.db[p] - powerDB(power[p]) - at[n-1]
		cost += w * rest * rest
		for i := range A {
			g[i] += w * rest * slopes[i][p]
			for j := range i + 1 {
				A[i][j] += w * slopes[i][p] * slopes[j][p]
			}
		}
	}
	for i := range n - 1 {
		width := [3]float64{priorOct * math.Ln2, priorDB, priorQ}[i%3]
		if i%3 == 2 && start[i/3].Shape != biquad.Bell {
			width = priorS
		}
		d := home[i] - at[i]
		cost += d * d / (width * width)
		g[i] += d / (width * width)
		A[i][i] += 1 / (width * width)
	}
	for i := range A {
		for j := range i {
			A[j][i] = A[i][j]
		}
	}
	return cost, A, g
}

// solve returns the step of (A + damp·diag A)·step = g by elimination. A must be symmetric and
// positive definite.
func solve(A [][]float64, g []float64, damp float64) []float64 {
	n := len(g)
	m, x := make([][]float64, n), append([]float64(nil), g...)
	for i := range m {
		m[i] = append([]float64(nil), A[i]...)
		m[i][i] *= 1 + damp
	}
	for i := range n {
		for k := i + 1; k < n; k++ {
			f := m[k][i] / m[i][i]
			for j := i; j < n; j++ {
				m[k][j] -= f * m[i][j]
			}
			x[k] -= f * x[i]
		}
	}
	for i := n - 1; i >= 0; i-- {
		for j := i + 1; j < n; j++ {
			x[i] -= m[i][j] * x[j]
		}
		x[i] /= m[i][i]
	}
	return x
}

func widthOf(f biquad.Filter) float64 {
	if f.Shape == biquad.Bell {
		return math.Log(f.Q)
	}
	return biquad.SlopeFromQ(f.Q, f.GainDB)
}

func filtersAt(start []biquad.Filter, at []float64) []biquad.Filter {
	filters := make([]biquad.Filter, len(start))
	for i, f := range start {
		f.FreqHz, f.GainDB = math.Exp(at[3*i]), at[3*i+1]
		if f.Shape == biquad.Bell {
			f.Q = math.Exp(at[3*i+2])
		} else {
			f.Q = biquad.QFromSlope(at[3*i+2], f.GainDB)
		}
		filters[i] = f
	}
	return filters
}

// bound clamps parameters to where filters exist. Our choice: frequencies from two octaves below
// 20 Hz, where the end of a shelf is still visible, to just below half the rate, where the bilinear
// transform ends; gains and Q as in settings documents; slopes S up to that of a shelf with Q 4 at
// its gain, with a hump of 12 dB: the cookbook's root ends soon after, and its derivative grows
// without bound.
func (c curve) bound(start []biquad.Filter, at []float64) {
	for i, f := range start {
		at[3*i] = math.Min(math.Max(at[3*i], math.Log(5)), math.Log(0.49*c.rateHz))
		at[3*i+1] = math.Min(math.Max(at[3*i+1], -40), 40)
		low, high := math.Log(0.05), math.Log(50.0)
		if f.Shape != biquad.Bell {
			low, high = 0.02, biquad.SlopeFromQ(steepestQ, at[3*i+1])
		}
		at[3*i+2] = math.Min(math.Max(at[3*i+2], low), high)
	}
}

// level returns the weighted mean of what the filters leave, in dB; 0 if it is held.
func (c curve) level(filters []biquad.Filter) float64 {
	if c.held {
		return 0
	}
	model := biquad.ResponseDB(nil, filters, c.freqHz, c.rateHz)
	sum, weight := 0.0, 0.0
	for i, w := range c.weight {
		if w > 0 {
			sum += w * (c.db[i] - model[i])
			weight += w
		}
	}
	return sum / weight
}

func (c curve) rms(filters []biquad.Filter, levelDB float64) float64 {
	model := biquad.ResponseDB(nil, filters, c.freqHz, c.rateHz)
	sum, weight := 0.0, 0.0
	for i, w := range c.weight {
		if w > 0 {
			d := c.db[i] - model[i] - levelDB
			sum += w * d * d
			weight += w
		}
	}
	return math.Sqrt(sum / weight)
}
