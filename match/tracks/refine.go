package tracks

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

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
	x := parameters(actions)
	n := len(x)
	cost := func(x, res []float64) float64 {
		s.residuals(s.with(actions, x), res)
		z := s.size(res)
		total := z * z
		for _, a := range s.with(actions, x) {
			g := a.gainDB + a.filter.GainDB
			total += priceDB2 * g * g / (priceOfDB * priceOfDB)
		}
		return total
	}
	res, moved := make([]float64, len(s.mix)), make([]float64, len(s.mix))
	now := cost(x, res)
	jac := make([][]float64, n)
	lambda := 1e-2
	for range 15 {
		for k := range x {
			const step = 0.05 // dB, or octaves
			y := slices.Clone(x)
			y[k] += step
			s.residuals(s.with(actions, y), moved)
			if jac[k] == nil {
				jac[k] = make([]float64, len(res))
			}
			for i := range res {
				jac[k][i] = (moved[i] - res[i]) / step
			}
		}
		a, g := mat.NewDense(n, n, nil), mat.NewVecDense(n, nil)
		for i, r := range res {
			if math.IsNaN(r) {
				continue
			}
			w := min(1, outlierDB/max(math.Abs(r), tiny)) / float64(s.count)
			for k := range n {
				g.SetVec(k, g.AtVec(k)-w*jac[k][i]*r)
				for l := range k + 1 {
					a.Set(k, l, a.At(k, l)+w*jac[k][i]*jac[l][i])
				}
			}
		}
		for k := range n {
			for l := range k {
				a.Set(l, k, a.At(k, l))
			}
		}
		improved := false
		for range 5 {
			damped := mat.DenseCopyOf(a)
			for k := range n {
				damped.Set(k, k, a.At(k, k)*(1+lambda)+1e-9)
			}
			step := mat.NewVecDense(n, nil)
			if step.SolveVec(damped, g) != nil {
				lambda *= 10
				continue
			}
			y := slices.Clone(x)
			for k := range y {
				y[k] += min(max(step.AtVec(k), -3), 3)
			}
			y = parameters(s.with(actions, y))
			if next := cost(y, moved); next < now {
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

// ranges sets the likely ranges of the faders by the jackknife over blocks of neighbouring
// moments, each left out in turn (B. Efron and C. Stein, Annals of Statistics 9 (1981),
// 586–596, from memory). They are widened as match's ranges are, and by the dial's step.
func (s *search) ranges(p *Plan, actions []action) {
	const most = 10
	if len(p.Faders) == 0 {
		return
	}
	n := min(most, s.moments/2)
	var draws [][]float64 // of each fader's gain
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
			if !a.isFilter {
				gains = append(gains, a.gainDB)
			}
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
			gains = append(gains, d[at])
		}
		half := jackknife(gains)
		for i := range p.Faders {
			if f := &p.Faders[i]; f.Track == a.track {
				f.LowDB, f.HighDB = f.GainDB-half, f.GainDB+half
			}
		}
		at++
	}
}

// jackknife returns half the likely range of a gain on a dial, from its values without each block.
func jackknife(draws []float64) float64 {
	const halfStep = 0.05
	mean, square, n := 0.0, 0.0, float64(len(draws))
	for _, d := range draws {
		mean += d / n
	}
	for _, d := range draws {
		square += (d - mean) * (d - mean)
	}
	return bandFactor*math.Sqrt(square*(n-1)/n) + halfStep
}

// bandFactor is half a likely range in standard deviations, the same as in match: 1.96, plus a
// tenth since there are few blocks.
const bandFactor = 1.1 * 1.96
