package uncertainty

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"toneplumb/spectrum"
)

// What is assumed about two recordings before they are measured, each a Gaussian process
// over log frequency. Chosen on nine of sixteen packages of songs, by filters of 2, 4 and 6 dB rms
// beside other songs of the same maker (match/testdata/README.md, "Decision 1: what is tone and
// what is arrangement").
const (
	// A fault of tone has Matérn's 3/2 covariance over faultOct: shelves and bells make
	// corners in a response, which a smoother process would take for noise.
	faultOct = 1.2
	// The difference of two arrangements has an exponential covariance over arrangementOct.
	// Pairs of songs by one maker correlate by 0.82, 0.65, 0.52 and 0.43 over ¼, ½, ¾ and 1
	// octave; exp(−Δ/1.2) is 0.81, 0.66, 0.54 and 0.43.
	arrangementOct = 1.2
	// Arrangements differ more at the ends of the spectrum: by these shares for each octave
	// below lowEndHz and above highEndHz.
	lowEndHz, highEndHz       = 250.0, 4000.0
	lowEndShare, highEndShare = 0.5, 0.7
)

// arrangementsDB are the possible sizes of that difference in dB, equally likely a priori: from
// other stretches of one song to songs of another kind.
var arrangementsDB = []float64{0.3, 1.2, 2.4, 4, 7}

// TonePrior is the prior of the tone difference and of the arrangement that hides it.
type TonePrior struct {
	faultDB, faultOct float64
	arrangementsDB    []float64
	referenceDB       []float64 // the references' mean tone, per band; nil if it says nothing
	references        int
}

// Songs returns the prior for references that are other songs than the mix. faultDB is the
// size of a fault of tone: the standard deviation of a band in dB. referenceDB is the references' mean
// tone in dB per band, at any level, nil if it says nothing; references is their number.
func Songs(faultDB float64, referenceDB []float64, references int) TonePrior {
	return TonePrior{faultDB, faultOct, arrangementsDB, referenceDB, references}
}

// Exact returns the prior for a reference that is followed as measured: every difference is
// tone, down to oct octaves, and only the measurement's scatter hides it.
func Exact(faultDB, oct float64) TonePrior {
	return TonePrior{faultDB: faultDB, faultOct: oct, arrangementsDB: []float64{0}, references: 1}
}

// MeanDB returns the posterior mean of the tone difference in dB per band, with its mean over
// the points removed, given the measured difference in dB per band and its scatter s:
//
//	K = faultDB²·(1 + x)·exp(−x), x = √3·|Δoct|/faultOct
//	N = S + a²·v·vᵀ·exp(−|Δoct|/arrangementOct)
//	mean = PKP·(PKP + PNP)⁺·(d − w·o)
//
// o is what stands out in the references, and w(a) the share of it that is theirs alone. S is the
// measurement's pooled covariance, v the shares of arrangementShare, and P removes the mean over the
// points. N keeps the whole a², not what is left of it once the references are known: that is simpler,
// and every figure in testdata/README.md was measured with it. The result is a mixture over the sizes a, weighted by the likelihood of the
// measurement: arrangements are rougher than faults, which separates the two. It panics if a
// covariance is not positive definite.
// Source: C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine
// Learning, 2006, equations 2.23, 2.24 and 2.30 (from memory).
func (h TonePrior) MeanDB(difference []float64, s *Scatter) []float64 {
	n := len(s.Points)
	d := mat.NewVecDense(n, nil)
	for i, b := range s.Points {
		d.SetVec(i, difference[b])
	}
	Centre(d)
	outstanding := mat.NewVecDense(n, nil)
	if h.referenceDB != nil {
		outstanding = Outstanding(h.referenceDB, s.Points)
	}
	prior := centred(n, func(i, j int) float64 { return h.tone(s.Points[i] - s.Points[j]) })
	scatter := centred(n, s.pooled)
	arranged := centred(n, func(i, j int) float64 { return arrangement(s.Points[i], s.Points[j]) })

	var alphas []*mat.VecDense
	var logs []float64
	for _, a := range h.arrangementsDB {
		// A constant curve is in the null space of every term. Adding its projection
		// makes the sum invertible and changes nothing orthogonal to it.
		sum := mat.NewSymDense(n, nil)
		for i := range n {
			for j := range i + 1 {
				sum.SetSym(i, j, prior.At(i, j)+scatter.At(i, j)+a*a*arranged.At(i, j)+1/float64(n))
			}
			sum.SetSym(i, i, sum.At(i, i)+jitterDB2)
		}
		var chol mat.Cholesky
		if !chol.Factorize(sum) {
			panic("uncertainty: a covariance is not positive definite")
		}
		rest, alpha := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
		rest.AddScaledVec(d, -h.ownShare(a), outstanding)
		if chol.SolveVecTo(alpha, rest) != nil {
			panic("uncertainty: a covariance cannot be inverted")
		}
		alphas = append(alphas, alpha)
		logs = append(logs, -mat.Dot(rest, alpha)/2-chol.LogDet()/2)
	}
	alpha := mat.NewVecDense(n, nil)
	all := floats.LogSumExp(logs)
	for k, l := range logs {
		alpha.AddScaledVec(alpha, math.Exp(l-all), alphas[k])
	}
	return h.meanAtBands(s.Points, alpha)
}

// jitterDB2 keeps rounding from making a covariance indefinite; in dB².
const jitterDB2 = 1e-6

// arrangement returns the covariance of two bands of a difference of arrangements of size
// 1 dB.
func arrangement(p, q int) float64 {
	apart := math.Abs(float64(p-q)) / spectrum.BandsPerOctave
	return arrangementShare(p) * arrangementShare(q) * math.Exp(-apart/arrangementOct)
}

// arrangementShare returns a band's share: 1 in the middle of the spectrum, larger at its ends.
func arrangementShare(band int) float64 {
	hz := spectrum.CentreHz(band)
	return 1 + lowEndShare*max(0, math.Log2(lowEndHz/hz)) + highEndShare*max(0, math.Log2(hz/highEndHz))
}

// tone returns the prior covariance of two bands that many bands apart, in dB².
func (h TonePrior) tone(bands int) float64 {
	x := math.Sqrt(3) * math.Abs(float64(bands)) / spectrum.BandsPerOctave / h.faultOct
	return h.faultDB * h.faultDB * (1 + x) * math.Exp(-x)
}

// centred returns P·A·P of the symmetric matrix A(i, j) = at(i, j), where P removes the mean.
func centred(n int, at func(i, j int) float64) *mat.Dense {
	m, p := mat.NewDense(n, n, nil), mat.NewDense(n, n, nil)
	for i := range n {
		for j := range n {
			m.Set(i, j, at(i, j))
			p.Set(i, j, -1/float64(n))
		}
		p.Set(i, i, 1-1/float64(n))
	}
	m.Product(p, m, p)
	return m
}

// meanAtBands returns the posterior mean at all bands, given the weights alpha of the
// points, with its mean over the points removed.
func (h TonePrior) meanAtBands(points []int, alpha *mat.VecDense) []float64 {
	mean := make([]float64, spectrum.BandCount)
	sum := mat.Sum(alpha) / float64(len(points)) // P applied to alpha
	for b := range mean {
		for i, p := range points {
			mean[b] += h.tone(b-p) * (alpha.AtVec(i) - sum)
		}
	}
	floats.AddConst(-spectrum.MeanAt(mean, points), mean)
	return mean
}

// Centre removes the mean of v in place.
func Centre(v *mat.VecDense) {
	raw := v.RawVector().Data
	floats.AddConst(-stat.Mean(raw, nil), raw)
}
