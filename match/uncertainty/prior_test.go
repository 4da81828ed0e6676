package uncertainty

import (
	"math"
	"math/rand/v2"
	"testing"

	"toneplumb/spectrum"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distmv"
)

// The posterior against the same model worked out another way: in coordinates without
// the constant, each size's posterior by plain matrices and its likelihood by
// gonum's normal distribution.
func TestPosteriorWorkedOutApart(t *testing.T) {
	const tolDB = 1e-4 // jitterDB2 against variances of 0.01 dB² and more
	h := TonePrior{faultDB: 1.5, faultOct: 1, arrangementsDB: []float64{0.5, 2}, referenceDB: make([]float64, spectrum.BandCount), references: 2}
	rng := rand.New(rand.NewPCG(21, 22))
	const n = 12
	s := &Scatter{Cov: mat.NewSymDense(n, nil)}
	difference := make([]float64, spectrum.BandCount)
	for i := range n {
		s.Points = append(s.Points, 20+15*i)
		difference[s.Points[i]] = rng.NormFloat64()
		h.referenceDB[s.Points[i]] = usual(s.Points[i]) + rng.NormFloat64()
		for j := range n {
			s.Cov.SetSym(i, j, 0.5*math.Exp(-math.Abs(float64(i-j))/2))
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
	arranged := within(func(i, j int) float64 { return arrangement(s.Points[i], s.Points[j]) })
	d := mat.NewVecDense(n, nil)
	for i, p := range s.Points {
		d.SetVec(i, difference[p])
	}
	outstanding := Outstanding(h.referenceDB, s.Points)

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
		var rest, seen mat.VecDense
		rest.AddScaledVec(d, -h.ownShare(a), outstanding)
		seen.MulVec(q.T(), &rest)
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
	got := h.MeanDB(difference, s)
	for i, p := range s.Points {
		if w := want.AtVec(i) / total; !(math.Abs(got[p]-w) <= tolDB) {
			t.Errorf("point %d: %.5f dB, worked out apart %.5f", i, got[p], w)
		}
	}
}

// The share against the same normal distribution worked out whole: a song and its references, all
// of variance σ² and correlation ρ; the song is then conditioned on the references (gonum's distmv).
func TestOwnShareWorkedOutApart(t *testing.T) {
	const tol = 1e-9 // rounding
	rng := rand.New(rand.NewPCG(3, 5))
	for _, references := range []int{1, 2, 3, 8} {
		for _, ρ := range []float64{0, 0.1, 0.5, 0.9} {
			n := references + 1
			cov := mat.NewSymDense(n, nil)
			for i := range n {
				for j := range i {
					cov.SetSym(i, j, ρ*unrelatedDB*unrelatedDB/2)
				}
				cov.SetSym(i, i, unrelatedDB*unrelatedDB/2)
			}
			normal, _ := distmv.NewNormal(make([]float64, n), cov, nil)
			apart := mat.NewVecDense(n, nil) // r̄ − song as a sum over the song and its references
			apart.SetVec(0, -1)
			var observed []int
			var values []float64
			mean := 0.0
			for i := range references {
				observed, values = append(observed, i+1), append(values, rng.NormFloat64())
				mean += values[i] / float64(references)
				apart.SetVec(i+1, 1/float64(references))
			}
			song, ok := normal.ConditionNormal(observed, values, nil)
			if !ok {
				t.Fatal("not positive definite")
			}
			a := math.Sqrt(mat.Inner(apart, cov, apart))
			want := (mean - song.Mean(nil)[0]) / mean
			if got := Songs(2, nil, references).ownShare(a); math.Abs(got-want) > tol {
				t.Errorf("%d references, correlation %g: %.6f, conditioned %.6f", references, ρ, got, want)
			}
		}
	}
	if got := Exact(2, 1).ownShare(0); got != 0 {
		t.Errorf("as measured: %g, want 0", got)
	}
	if got := Songs(2, nil, 3).ownShare(7); got != 1 {
		t.Errorf("farther apart than unrelated songs: %g, want 1", got)
	}
}

// Half of a slope that the references have as a whole is their genre's, and level says nothing.
func TestOutstandingSlope(t *testing.T) {
	points := []int{40, 80, 120, 160, 200}
	tone := make([]float64, spectrum.BandCount)
	for _, b := range points {
		tone[b] = usual(b) + float64(b)/24 // 1 dB an octave
	}
	got := Outstanding(tone, points)
	for i, b := range points {
		if want := (1 - genreSlope) * float64(b-120) / 24; math.Abs(got.AtVec(i)-want) > 1e-9 {
			t.Errorf("band %d: %.6f dB, want %.6f", b, got.AtVec(i), want)
		}
	}
}

// The table of the usual tone is met at its own frequencies and between them.
func TestUsual(t *testing.T) {
	for band := range spectrum.BandCount {
		at := 10 * math.Log10(spectrum.CentreHz(band)/1000) // third octaves from 1 kHz, IEC 61260-1
		i := int(math.Floor(at)) + 16
		if i < 0 || i > len(usualDB)-2 {
			continue
		}
		low, high := min(usualDB[i], usualDB[i+1]), max(usualDB[i], usualDB[i+1])
		if got := usual(band); got < low-1e-9 || got > high+1e-9 {
			t.Errorf("%.0f Hz: %g dB, not between %g and %g", spectrum.CentreHz(band), got, low, high)
		}
	}
}
