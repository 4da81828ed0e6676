package match

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distmv"

	"toneplumb/biquad"
	"toneplumb/spectrum"
)

// The posterior against the same model worked out another way: in coordinates without
// the constant, each size's posterior by plain matrices and its likelihood by
// gonum's normal distribution.
func TestPosteriorWorkedOutApart(t *testing.T) {
	const tolDB = 1e-4 // jitterDB2 against variances of 0.01 dB² and more
	h := tonePrior{faultDB: 1.5, faultOct: 1, arrangementsDB: []float64{0.5, 2}}
	rng := rand.New(rand.NewPCG(21, 22))
	const n = 12
	s := &uncertainty{cov: make([]float64, n*n)}
	difference := make([]float64, spectrum.BandCount)
	for i := range n {
		s.points = append(s.points, 20+15*i)
		difference[s.points[i]] = rng.NormFloat64()
		for j := range n {
			s.cov[i*n+j] = 0.5 * math.Exp(-math.Abs(float64(i-j))/2)
		}
	}

	// The columns of q are orthonormal and orthogonal to the constant (Helmert's).
	q := mat.NewDense(n, n-1, nil)
	for k := range n - 1 {
		for i := range k + 1 {
			q.Set(i, k, 1/math.Sqrt(float64((k+1)*(k+2))))
		}
		q.Set(k+1, k, -float64(k+1)/math.Sqrt(float64((k+1)*(k+2))))
	}
	within := func(at func(i, j int) float64) *mat.Dense {
		full := mat.NewDense(n, n, nil)
		for i := range n {
			for j := range n {
				full.Set(i, j, at(i, j))
			}
		}
		var m mat.Dense
		m.Product(q.T(), full, q)
		return &m
	}
	prior := within(func(i, j int) float64 {
		x := math.Sqrt(3) * math.Abs(float64(i-j)) * 15 / 24 // octaves over faultOct
		return 1.5 * 1.5 * (1 + x) * math.Exp(-x)
	})
	noise := within(s.pooled)
	arranged := within(func(i, j int) float64 { return arrangement(s.points[i], s.points[j]) })
	d := mat.NewVecDense(n, nil)
	for i, p := range s.points {
		d.SetVec(i, difference[p])
	}
	var seen mat.VecDense
	seen.MulVec(q.T(), d)

	want, total := mat.NewVecDense(n, nil), 0.0
	var shares []float64
	for _, a := range h.arrangementsDB {
		sum := mat.NewSymDense(n-1, nil)
		for i := range n - 1 {
			for j := range i + 1 {
				sum.SetSym(i, j, prior.At(i, j)+noise.At(i, j)+a*a*arranged.At(i, j))
			}
		}
		normal, ok := distmv.NewNormal(make([]float64, n-1), sum, nil)
		if !ok {
			t.Fatal("not positive definite")
		}
		share := math.Exp(normal.LogProb(seen.RawVector().Data))
		var weights, mean, at mat.VecDense
		if err := weights.SolveVec(sum, &seen); err != nil {
			t.Fatal(err)
		}
		mean.MulVec(prior, &weights)
		at.MulVec(q, &mean)
		want.AddScaledVec(want, share, &at)
		total += share
		shares = append(shares, share)
	}
	if small := min(shares[0], shares[1]) / total; small < 0.02 {
		t.Fatalf("one size has %g of the likelihood, so that the mixture is not tried", small)
	}
	got := h.posterior(difference, s).meanDB
	for i, p := range s.points {
		if w := want.AtVec(i) / total; !(math.Abs(got[p]-w) <= tolDB) {
			t.Errorf("point %d: %.5f dB, worked out apart %.5f", i, got[p], w)
		}
	}
}

// Of a difference that is known but for so much of one bell, a bell there has a gain that
// is known but for so much: 1.96 deviations either way of half of it at half the way.
func TestGainRanges(t *testing.T) {
	const deviation, share = 0.2, 50 // dB for each dB of the bell; percent
	c := compare(t, invented(1, 90, flat), invented(2, 90, flat))
	bell := biquad.Filter{Shape: biquad.Bell, FreqHz: 900, GainDB: 2, Q: 1}
	perDB := bell
	perDB.GainDB = 1e-3
	curve := c.smoother.Smooth(nil, biquad.ResponseDB(nil, []biquad.Filter{perDB}, spectrum.Centres(), c.RateHz))
	n := len(c.uncertainty.points)
	v, mean := make([]float64, n), 0.0
	for i, b := range c.uncertainty.points {
		v[i] = curve[b] / 1e-3
		mean += v[i] / float64(n)
	}
	cov := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			cov.SetSym(i, j, deviation*deviation*(v[i]-mean)*(v[j]-mean))
		}
	}
	o := DefaultSolve()
	o.TowardPercent = share
	got := c.gainRanges([]biquad.Filter{bell}, &target{points: c.uncertainty.points, cov: cov}, o)[0]
	if half, want := (got.highDB-got.lowDB)/2, 1.96*deviation*share/100; math.Abs(half/want-1) > 0.05 { // a bell of 2 dB is not quite as broad as one of nearly none
		t.Errorf("half the range is %.4f dB, want %.4f", half, want)
	}
}

// What is to be followed of a copy has no level, whatever the filter does to the loudness;
// and a band lies as far below a difference as above.
func TestTargetHasNoLevel(t *testing.T) {
	shelf := biquad.Filter{Shape: biquad.LowShelf, FreqHz: 400, GainDB: 6, Q: math.Sqrt2 / 2}
	c := compare(t, invented(1, 90, flat), invented(1, 90, through(shelf)))
	if level, _ := c.judged.Mean(c.DifferenceDB, 0, math.Inf(1)); math.Abs(level) > 1e-9 {
		t.Errorf("the difference has a level of %g dB", level)
	}
	if level, _ := c.judged.Mean(c.target(Rough).db, 0, math.Inf(1)); math.Abs(level) > 1e-9 { // roundings
		t.Errorf("the target has a level of %g dB", level)
	}
	other := compare(t, invented(1, 90, flat), invented(2, 90, flat))
	for b, yes := range other.judged {
		if below, above := other.DifferenceDB[b]-other.LowDB[b], other.HighDB[b]-other.DifferenceDB[b]; yes && !(below > 0 && math.Abs(below-above) < 1e-9) {
			t.Fatalf("band %d: %g dB below and %g above", b, below, above)
		}
	}
}
