package tracks

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"toneplumb/biquad"
)

// parameters returns the free parameters of actions: the gain in dB and, for filters, log2 of the
// frequency in Hz and of Q.
func parameters(actions []action) (x []float64) {
	for _, a := range actions {
		if !a.isFilter {
			x = append(x, a.gainDB)
			continue
		}
		x = append(x, a.filter.GainDB, math.Log2(a.filter.FreqHz), math.Log2(a.filter.Q))
	}
	return x
}

// with returns actions with other parameters, clamped to their ranges.
func (s *search) with(actions []action, x []float64) []action {
	out := slices.Clone(actions)
	at := 0
	for i := range out {
		a := &out[i]
		if !a.isFilter {
			a.gainDB = min(max(x[at], -mostFaderDB), mostFaderDB)
			at++
			continue
		}
		least, most := s.gainsOf(a.filter.Shape)
		lowHz, highHz := s.r.Options.RangeHz[0], min(s.r.Options.RangeHz[1], 0.4*s.RateHz)
		lowQ, highQ := 0.5, 2.0
		if a.filter.Shape != biquad.Bell {
			lowQ, highQ = 0.4, 0.9
		}
		a.filter.GainDB = min(max(x[at], least), most)
		a.filter.FreqHz = min(max(math.Exp2(x[at+1]), lowHz), highHz)
		a.filter.Q = min(max(math.Exp2(x[at+2]), lowQ), highQ)
		at += 3
	}
	return out
}

// refine fits the parameters of actions by the Levenberg–Marquardt method.
func (s *search) refine(actions []action) solution {
	if len(actions) == 0 {
		return s.nothing()
	}
	x := parameters(actions)
	res, moved := make([]float64, len(s.mix)), make([]float64, len(s.mix))
	now := s.cost(s.with(actions, x), res)
	lambda := 1e-2
	for range 15 {
		a, g := s.normal(actions, x, res, moved)
		improved := false
		for range 5 {
			y := slices.Clone(x)
			for k, d := range damped(a, g, lambda) {
				y[k] += min(max(d, -3), 3)
			}
			y = parameters(s.with(actions, y))
			if next := s.cost(s.with(actions, y), moved); next < now {
				improved = now-next > 1e-4*now
				x, now = y, next
				copy(res, moved)
				lambda = max(lambda/5, 1e-4)
				break
			}
			lambda *= 5
		}
		if !improved {
			break
		}
	}
	out := s.with(actions, x)
	return solution{out, s.size(res), s.leaves(s.effectOf(out))}
}

// cost returns the mean of Huber's function over the residuals of actions plus the price of their
// gains, in dB². It writes the residuals into res.
func (s *search) cost(actions []action, res []float64) float64 {
	s.residuals(actions, res)
	z := s.size(res)
	total := z * z
	for _, a := range actions {
		g := a.gainDB + a.filter.GainDB
		total += priceDB2 * g * g / (priceOfDB * priceOfDB)
	}
	return total
}

// normal returns the normal matrix and the right side of a step from x, where the residuals are
// res; moved is scratch.
func (s *search) normal(actions []action, x, res, moved []float64) (*mat.SymDense, *mat.VecDense) {
	const step = 0.05 // dB, or octaves
	jac, weighted := mat.NewDense(len(x), len(res), nil), mat.NewVecDense(len(res), nil)
	for k := range x {
		y, by := slices.Clone(x), step
		y[k] += by
		if parameters(s.with(actions, y))[k] == x[k] { // at the end of its range
			by = -step
			y[k] = x[k] + by
		}
		s.residuals(s.with(actions, y), moved)
		for i, r := range res {
			if !math.IsNaN(r) {
				w := math.Sqrt(huberWeight(r) / float64(s.count))
				jac.Set(k, i, w*(moved[i]-r)/by)
				weighted.SetVec(i, -w*r)
			}
		}
	}
	a, g := mat.NewSymDense(len(x), nil), mat.NewVecDense(len(x), nil)
	a.SymOuterK(1, jac)
	g.MulVec(jac, weighted)
	return a, g
}

// damped returns the step that a and g give with this much added to the diagonal; none if that is
// singular.
func damped(a *mat.SymDense, g *mat.VecDense, lambda float64) []float64 {
	n := a.SymmetricDim()
	d := mat.NewSymDense(n, nil)
	d.CopySym(a)
	for k := range n {
		d.SetSym(k, k, a.At(k, k)*(1+lambda)+1e-9)
	}
	var chol mat.Cholesky
	step := mat.NewVecDense(n, nil)
	if !chol.Factorize(d) || chol.SolveVecTo(step, g) != nil {
		return nil
	}
	return step.RawVector().Data
}

// ranges sets the likely ranges of the faders by the jackknife over blocks of neighbouring
// moments, each left out in turn (B. Efron and C. Stein, Annals of Statistics 9 (1981),
// 586–596, from memory). They are widened as match's ranges are, and by the dial's step.
func (s *search) ranges(p *Plan, actions []action) {
	const (
		most      = 10
		leastRest = 0.1 // of a track's sound; our choice: with less the price of gains decides, not the cells
	)
	if len(p.Faders) == 0 {
		return
	}
	n := min(most, s.moments/2)
	var draws [][]float64 // of each fader's gain; NaN where the track hardly sounds in the rest
	for k := range n {
		part := *s.cells
		part.mix = slices.Clone(s.mix)
		for i := range s.thirds {
			for m := k * s.moments / n; m < (k+1)*s.moments/n; m++ {
				if at := i*s.moments + m; part.mix[at] > 0 {
					part.mix[at] = 0
					part.count--
				}
			}
		}
		var gains []float64
		for _, a := range (&search{s.session, &part}).refine(actions).actions {
			if a.isFilter {
				continue
			}
			if s.soundsIn(&part, a.track) < leastRest*s.soundsIn(s.cells, a.track) {
				a.gainDB = math.NaN()
			}
			gains = append(gains, a.gainDB)
		}
		draws = append(draws, gains)
	}
	at := 0
	for _, a := range actions {
		if a.isFilter {
			continue
		}
		var gains []float64
		for _, d := range draws {
			if !math.IsNaN(d[at]) {
				gains = append(gains, d[at])
			}
		}
		half := likelyDB(gains)
		for i := range p.Faders {
			if f := &p.Faders[i]; f.Track == a.track {
				f.LowDB, f.HighDB = f.GainDB-half, f.GainDB+half
			}
		}
		at++
	}
}

// soundsIn returns by how much a track or a group changes the cells in use.
func (s *search) soundsIn(cells *cells, track int) (sum float64) {
	for _, k := range s.members(track) {
		for at, mix := range cells.mix {
			if mix > 0 {
				sum += math.Abs(cells.re[k][at]) / mix
			}
		}
	}
	return sum
}

// likelyDB returns half the likely range of a gain on a dial, from its values without each block.
func likelyDB(draws []float64) float64 {
	const halfStep = 0.05
	return bandFactor*jackknife(draws) + halfStep
}

// jackknife returns a standard deviation from values without each block (see ranges).
func jackknife(draws []float64) float64 {
	return math.Sqrt(stat.PopVariance(draws, nil) * float64(len(draws)-1))
}

// bandFactor is half a likely range in standard deviations, the same as in match: 1.96, plus a
// tenth since there are few blocks.
const bandFactor = 1.1 * 1.96
