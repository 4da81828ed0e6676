package probe

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"toneplumb/biquad"
	"toneplumb/spectrum"
)

// curve is a measured response: gains in dB, at a rate.
type curve struct {
	freqHz, db []float64
	weight     []float64 // 0 or 1; nil: all 1
	rateHz     float64
	held       bool // the level is fixed at 0
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

// refine fits filters and a free level to the curve, starting at start. Method: Levenberg–Marquardt with the analytic derivatives of biquad.
func (c curve) refine(start []biquad.Filter) (filters []biquad.Filter, levelDB float64) {
	at := make([]float64, 3*len(start))
	for i, f := range start {
		at[3*i], at[3*i+1], at[3*i+2] = math.Log(f.FreqHz), f.GainDB, widthOf(f)
	}
	c.bound(start, at)
	if len(start) > 0 {
		at = c.descend(start, at)
	}
	filters = filtersAt(start, at)
	levelDB, _ = c.compare(filters)
	return filters, levelDB
}

func (c curve) descend(start []biquad.Filter, at []float64) []float64 {
	home := at
	slopes, rest := c.system(start, at, home)
	cost := mat.Dot(rest, rest)
	for step, damp := 0, 1e-3; step < mostSteps && damp <= 1e8; step++ {
		next, ok := dampedStep(slopes, rest, damp)
		if ok {
			floats.Add(next, at)
			c.bound(start, next)
			slopesThere, restThere := c.system(start, next, home)
			less := mat.Dot(restThere, restThere)
			if ok = less < cost; ok {
				done := cost-less < 1e-10*cost
				at, slopes, rest, cost = next, slopesThere, restThere, less
				if done {
					break
				}
			}
		}
		if ok {
			damp = max(damp/8, 1e-9)
		} else {
			damp *= 8
		}
	}
	return at
}

// system returns the least-squares problem at a point: what is left of the curve, then the
// distances from home, in standard deviations, and how each parameter changes them, a row each.
func (c curve) system(start []biquad.Filter, at, home []float64) (slopes *mat.Dense, rest *mat.VecDense) {
	n, points := len(at), len(c.freqHz)
	slopes, rest = mat.NewDense(n, points+n, nil), mat.NewVecDense(points+n, nil)
	ofCurve := func(i int) []float64 { return slopes.RawRowView(i)[:points] }
	power := make([]float64, points)
	floats.AddConst(1, power)
	warped := biquad.Warp(nil, c.freqHz, c.rateHz)
	for i, f := range filtersAt(start, at) {
		m := f.Magnitude(c.rateHz)
		m.PartialsDB(&[3][]float64{ofCurve(3 * i), ofCurve(3*i + 1), ofCurve(3*i + 2)}, power, warped)
	}
	left := rest.RawVector().Data[:points]
	for p := range left {
		left[p] = c.db[p] - spectrum.PowerToDB(power[p])
	}
	c.weigh(left)
	for i := range n {
		c.weigh(ofCurve(i))
		width := [3]float64{priorOct * math.Ln2, priorDB, priorQ}[i%3]
		if i%3 == 2 && start[i/3].Shape != biquad.Bell {
			width = priorS
		}
		slopes.Set(i, points+i, 1/width)
		rest.SetVec(points+i, (home[i]-at[i])/width)
	}
	return slopes, rest
}

// weigh removes the mean, since the level is free unless it is held, and divides by the error.
func (c curve) weigh(x []float64) {
	if !c.held {
		floats.AddConst(-stat.Mean(x, c.weight), x)
	}
	if c.weight != nil {
		floats.Mul(x, c.weight)
	}
	floats.Scale(1/curveDB, x)
}

// dampedStep returns the step of the normal equations with their diagonal 1 + damp times as large;
// not ok if they are singular.
func dampedStep(slopes *mat.Dense, rest *mat.VecDense, damp float64) (step []float64, ok bool) {
	var a mat.SymDense
	a.SymOuterK(1, slopes)
	for i := range a.SymmetricDim() {
		a.SetSym(i, i, (1+damp)*a.At(i, i))
	}
	var g, x mat.VecDense
	g.MulVec(slopes, rest)
	var factors mat.Cholesky
	if !factors.Factorize(&a) || factors.SolveVecTo(&x, &g) != nil {
		return nil, false
	}
	return x.RawVector().Data, true
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
		at[3*i] = min(max(at[3*i], math.Log(5)), math.Log(0.49*c.rateHz))
		at[3*i+1] = min(max(at[3*i+1], -40), 40)
		low, high := math.Log(0.05), math.Log(50.0)
		if f.Shape != biquad.Bell {
			low, high = 0.02, biquad.SlopeFromQ(steepestQ, at[3*i+1])
		}
		at[3*i+2] = min(max(at[3*i+2], low), high)
	}
}

// compare returns the level in dB, 0 if it is held, and the rms that filters at this level leave.
func (c curve) compare(filters []biquad.Filter) (levelDB, restDB float64) {
	rest := biquad.ResponseDB(nil, filters, c.freqHz, c.rateHz)
	floats.SubTo(rest, c.db, rest)
	if !c.held {
		levelDB = stat.Mean(rest, c.weight)
	}
	floats.AddConst(-levelDB, rest)
	floats.Mul(rest, rest)
	return levelDB, math.Sqrt(stat.Mean(rest, c.weight))
}
