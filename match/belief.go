package match

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"toneplumb/spectrum"
)

// belief is what is assumed of two recordings before they are measured.
type belief struct {
	priorDB, priorOct float64 // what a tone difference is like: how large, how broad

	// noise holds the factors on the covariance of the measurement that are held
	// possible, in powers of 2 about noiseLog2 with the deviation noiseSpread: two
	// halves of one song differ by more than its blocks scatter, by how much is the
	// song's.
	noise                  []float64
	noiseLog2, noiseSpread float64
}

// believed is our choice, tuned on two thirds of the songs of the evaluation; what else
// was tried is in DEVELOPERS.md.
var believed = belief{
	priorDB: 1.75, priorOct: 1.5,
	noise: []float64{0.5, 1, 2, 4, 8, 16, 32, 64}, noiseLog2: 2, noiseSpread: 1.5,
}

// posterior is the tone difference as far as it can be told from arrangement and
// chance.
type posterior struct {
	meanDB []float64     // per band, mean removed over the points
	cov    *mat.SymDense // at the points, mean removed
}

// posterior returns the posterior of the tone difference given the measured one, both
// Gaussian processes over log frequency with their level free:
//
//	K = priorDB²·(1 + x)·exp(−x), x = √3·|Δoct|/priorOct, N = f·Σ
//	mean = PKP·(PKP + PNP)⁺·d, covariance = PKP − PKP·(PKP + PNP)⁺·PKP
//
// with P the removal of the mean over the points, and mixed over the noise factors f
// by how likely they make what was measured: a difference too rough for a tone
// difference and the scatter of the blocks speaks for a large f.
// Source: C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine
// Learning, 2006, equations 2.23, 2.24 and 2.30 (from memory).
func (h belief) posterior(difference []float64, s *confidence) *posterior {
	n := len(s.points)
	d := mat.NewVecDense(n, nil)
	for i, b := range s.points {
		d.SetVec(i, difference[b])
	}
	centreVec(d)
	prior := centred(n, func(i, j int) float64 { return h.tone(s.points[i] - s.points[j]) })
	scatter := centred(n, func(i, j int) float64 { return s.cov[i*n+j] })

	var alphas []*mat.VecDense
	var means []*mat.VecDense
	var covs []*mat.SymDense
	var logs []float64
	for _, f := range h.noise {
		// The constant is the null space of all; adding it makes the sum invertible and
		// touches nothing that is orthogonal to it.
		sum := mat.NewSymDense(n, nil)
		for i := range n {
			for j := range i + 1 {
				sum.SetSym(i, j, prior.At(i, j)+f*scatter.At(i, j)+1/float64(n))
			}
			sum.SetSym(i, i, sum.At(i, i)+jitterDB2)
		}
		var chol mat.Cholesky
		if !chol.Factorize(sum) {
			panic("match: a covariance is not positive definite")
		}
		alpha, mean := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
		var gain, shrunk mat.Dense
		if chol.SolveVecTo(alpha, d) != nil || chol.SolveTo(&gain, prior) != nil {
			panic("match: a covariance cannot be inverted")
		}
		mean.MulVec(prior, alpha)
		shrunk.Mul(prior, &gain)
		cov := mat.NewSymDense(n, nil)
		for i := range n {
			for j := range i + 1 {
				cov.SetSym(i, j, prior.At(i, j)-shrunk.At(i, j))
			}
		}
		x := (math.Log2(f) - h.noiseLog2) / h.noiseSpread
		alphas, means, covs = append(alphas, alpha), append(means, mean), append(covs, cov)
		logs = append(logs, -x*x/2-mat.Dot(d, alpha)/2-chol.LogDet()/2)
	}
	weights := likely(logs)
	alpha, mean, cov := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil), mat.NewSymDense(n, nil)
	for k, w := range weights {
		alpha.AddScaledVec(alpha, w, alphas[k])
		mean.AddScaledVec(mean, w, means[k])
	}
	for k, w := range weights {
		apart := mat.NewVecDense(n, nil)
		apart.SubVec(means[k], mean)
		for i := range n {
			for j := range i + 1 {
				cov.SetSym(i, j, cov.At(i, j)+w*(covs[k].At(i, j)+apart.AtVec(i)*apart.AtVec(j)))
			}
		}
	}
	return &posterior{meanDB: h.between(s.points, alpha), cov: cov}
}

// jitterDB2 keeps rounding from making a covariance indefinite.
const jitterDB2 = 1e-9

// tone is the prior covariance of two bands so far apart, Matérn's with 3/2, for tone
// differences have corners where shelves and bells begin: as smooth a one as Gauss's
// takes them for noise.
func (h belief) tone(bands int) float64 {
	x := math.Sqrt(3) * math.Abs(float64(bands)) / spectrum.BandsPerOctave / h.priorOct
	return h.priorDB * h.priorDB * (1 + x) * math.Exp(-x)
}

// centred returns P·A·P of a symmetric matrix.
func centred(n int, at func(i, j int) float64) *mat.Dense {
	row := make([]float64, n)
	all := 0.0
	m := mat.NewDense(n, n, nil)
	for i := range n {
		for j := range n {
			v := at(i, j)
			m.Set(i, j, v)
			row[i] += v / float64(n)
		}
		all += row[i] / float64(n)
	}
	for i := range n {
		for j := range n {
			m.Set(i, j, m.At(i, j)-row[i]-row[j]+all)
		}
	}
	return m
}

// likely turns logarithms of likelihoods into weights that sum to 1.
func likely(logs []float64) []float64 {
	most := math.Inf(-1)
	for _, l := range logs {
		most = max(most, l)
	}
	weights := make([]float64, len(logs))
	sum := 0.0
	for i, l := range logs {
		weights[i] = math.Exp(l - most)
		sum += weights[i]
	}
	for i := range weights {
		weights[i] /= sum
	}
	return weights
}

// between returns the posterior mean at all bands, from the weights alpha of the
// points, with its mean over the points removed.
func (h belief) between(points []int, alpha *mat.VecDense) []float64 {
	mean := make([]float64, spectrum.BandCount)
	sum := mat.Sum(alpha) / float64(len(points)) // P acts on alpha
	for b := range mean {
		for i, p := range points {
			mean[b] += h.tone(b-p) * (alpha.AtVec(i) - sum)
		}
	}
	base := 0.0
	for _, b := range points {
		base += mean[b] / float64(len(points))
	}
	for b := range mean {
		mean[b] -= base
	}
	return mean
}

func centreVec(v *mat.VecDense) {
	n := v.Len()
	mean := mat.Sum(v) / float64(n)
	for i := range n {
		v.SetVec(i, v.AtVec(i)-mean)
	}
}
