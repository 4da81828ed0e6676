package uncertainty

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"toneplumb/spectrum"
)

// What is assumed of two recordings before they are measured, each a Gaussian process
// over log frequency. Chosen on nine of sixteen packages of songs (match/testdata/README.md),
// by filters of 2, 4 and 6 dB rms beside other songs of the same maker.
const (
	// A fault of tone has Matérn's 3/2 covariance over faultOct: filters have corners
	// where shelves and bells begin, and a smoother process takes those for noise.
	faultOct = 1.2
	// Two arrangements differ by an exponential covariance over arrangementOct. Pairs of
	// songs by one maker correlate by 0.82, 0.65, 0.52 and 0.43 over ¼, ½, ¾ and 1
	// octave; exp(−Δ/1.2) is 0.81, 0.66, 0.54 and 0.43.
	arrangementOct = 1.2
	// They differ more at the ends: by these shares for each octave below lowEndHz and
	// above highEndHz.
	lowEndHz, highEndHz       = 250.0, 4000.0
	lowEndShare, highEndShare = 0.5, 0.7
)

// arrangementsDB are the sizes of such a difference that are held possible, all equally
// likely before: from other stretches of one song to songs of another kind.
var arrangementsDB = []float64{0.3, 1.2, 2.4, 4, 7}

// Posterior is the tone difference as far as it can be told from arrangement and
// chance.
type Posterior struct {
	MeanDB []float64     // per band, mean removed over the points
	cov    *mat.SymDense // at the points, mean removed
}

// TonePrior is a prior of the tone difference with what hides it.
type TonePrior struct {
	faultDB, faultOct float64
	arrangementsDB    []float64
}

// Songs returns the prior for other songs as references, with faults of tone of so many dB
// (the standard deviation of a band).
func Songs(faultDB float64) TonePrior {
	return TonePrior{faultDB: faultDB, faultOct: faultOct, arrangementsDB: arrangementsDB}
}

// Exact returns the prior for a reference that is followed as it is: any difference is tone
// down to so many octaves, and only the measurement hides it.
func Exact(faultDB, oct float64) TonePrior {
	return TonePrior{faultDB: faultDB, faultOct: oct, arrangementsDB: []float64{0}}
}

// Posterior returns the posterior of the tone difference given the measured one:
//
//	K = faultDB²·(1 + x)·exp(−x), x = √3·|Δoct|/faultOct
//	N = S + a²·v·vᵀ·exp(−|Δoct|/arrangementOct)
//	mean = PKP·(PKP + PNP)⁺·d, covariance = PKP − PKP·(PKP + PNP)⁺·PKP
//
// with S the measurement's pooled covariance, v the shares of arrangementShare, P the
// removal of the mean over the points, and mixed over the sizes a by how likely each
// makes what was measured: arrangements are rougher than faults, which tells them apart.
// Source: C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine
// Learning, 2006, equations 2.23, 2.24 and 2.30 (from memory).
func (h TonePrior) Posterior(difference []float64, s *Scatter) *Posterior {
	n := len(s.Points)
	d := mat.NewVecDense(n, nil)
	for i, b := range s.Points {
		d.SetVec(i, difference[b])
	}
	Centre(d)
	prior := centred(n, func(i, j int) float64 { return h.tone(s.Points[i] - s.Points[j]) })
	scatter := centred(n, s.pooled)
	arranged := centred(n, func(i, j int) float64 { return arrangement(s.Points[i], s.Points[j]) })

	var alphas []*mat.VecDense
	var means []*mat.VecDense
	var covs []*mat.SymDense
	var logs []float64
	for _, a := range h.arrangementsDB {
		// The constant is the null space of all; adding it makes the sum invertible and
		// touches nothing that is orthogonal to it.
		sum := mat.NewSymDense(n, nil)
		for i := range n {
			for j := range i + 1 {
				sum.SetSym(i, j, prior.At(i, j)+scatter.At(i, j)+a*a*arranged.At(i, j)+1/float64(n))
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
		alphas, means, covs = append(alphas, alpha), append(means, mean), append(covs, cov)
		logs = append(logs, -mat.Dot(d, alpha)/2-chol.LogDet()/2)
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
	return &Posterior{MeanDB: h.between(s.Points, alpha), cov: cov}
}

// jitterDB2 keeps rounding from making a covariance indefinite.
const jitterDB2 = 1e-6

// arrangement is the covariance of two bands of the difference of two arrangements of
// 1 dB.
func arrangement(p, q int) float64 {
	apart := math.Abs(float64(p-q)) / spectrum.BandsPerOctave
	return arrangementShare(p) * arrangementShare(q) * math.Exp(-apart/arrangementOct)
}

// arrangementShare is 1 in the middle of the spectrum and larger at its ends.
func arrangementShare(band int) float64 {
	hz := spectrum.CentreHz(band)
	return 1 + lowEndShare*max(0, math.Log2(lowEndHz/hz)) + highEndShare*max(0, math.Log2(hz/highEndHz))
}

// tone is the prior covariance of two bands so far apart.
func (h TonePrior) tone(bands int) float64 {
	x := math.Sqrt(3) * math.Abs(float64(bands)) / spectrum.BandsPerOctave / h.faultOct
	return h.faultDB * h.faultDB * (1 + x) * math.Exp(-x)
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
func (h TonePrior) between(points []int, alpha *mat.VecDense) []float64 {
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

func Centre(v *mat.VecDense) {
	n := v.Len()
	mean := mat.Sum(v) / float64(n)
	for i := range n {
		v.SetVec(i, v.AtVec(i)-mean)
	}
}
