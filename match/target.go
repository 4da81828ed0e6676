package match

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"toneplumb/biquad"
)

// target is the tone difference to follow and how near is near enough.
type target struct {
	db     []float64     // per band, mean removed
	points []int         // at which cov is; nil for a drawn curve
	cov    *mat.SymDense // of what the tone difference may be

	gainPrice             float64 // see fit.Problem
	nothingDB, enoughAtDB float64 // a residual within which no moves, and the moves, are enough
}

// enoughDB returns the residual within which so many moves are enough. To begin at
// all takes more than to go on once it is worth it.
func (t *target) enoughDB(moves int) float64 {
	if moves == 0 {
		return t.nothingDB
	}
	return t.enoughAtDB
}

const (
	// noNoiseDB: below this scatter a copy's difference is followed as it is. Our
	// choice.
	noNoiseDB = 0.1
	// copyEnoughDB is near enough for a copy and for a drawn curve. Our choice: the
	// steps of the dials leave about as much.
	copyEnoughDB = 0.05
	// For all else, in dB and as shares of the measurement's mean standard deviation.
	// Measured on songs, see the evaluation: the larger the first, the more often a
	// song is left alone that was not equalised; the larger the second, the fewer moves.
	// On 91 songs the second is worth nothing from 0.1 to 0.25 dB; at 0.1 two shelves
	// at one frequency were taken for a single one.
	nothingDB, nothingShare = 0.3, 0.75
	movedDB, movedShare     = 0.15, 0.2
	// gainPrice makes two moves of ±6 dB that undo each other as dear as 0.38 dB of
	// residual (2·36·0.002 dB²). Our choice: three prices from 0.0006 to 0.003 gave the
	// same rows of the evaluation within 0.02 dB.
	gainPrice = 0.002
)

// target returns what to follow. A copy of the mix's song leaves nothing to doubt.
func (c *Comparison) target() *target {
	s := c.sure
	if s == nil {
		return &target{db: c.DifferenceDB, nothingDB: copyEnoughDB, enoughAtDB: copyEnoughDB}
	}
	sd := s.meanDB()
	if sd < noNoiseDB && !slices.Contains(c.SameSong, false) {
		db := slices.Clone(c.DifferenceDB)
		mean, _ := c.judgedMean(db, 0, math.Inf(1))
		for b := range db {
			db[b] -= mean
		}
		cov := mat.NewSymDense(len(s.points), slices.Clone(s.cov))
		return &target{db: db, points: s.points, cov: cov, nothingDB: copyEnoughDB, enoughAtDB: copyEnoughDB}
	}
	p := believed.posterior(c.DifferenceDB, s)
	return &target{db: p.meanDB, points: s.points, cov: p.cov, gainPrice: gainPrice,
		nothingDB: max(nothingDB, nothingShare*sd), enoughAtDB: max(movedDB, movedShare*sd)}
}

// gainHalves returns half the 95 % interval of each move's gain, frequency and width
// standing: the gains that follow a curve best are linear in it,
//
//	g = (GᵀG)⁻¹·Gᵀ·t, cov g = (GᵀG)⁻¹·Gᵀ·C·G·(GᵀG)⁻¹
//
// with G what a decibel of each move does at the points and C the covariance of the
// target. NaN without one.
func (c *Comparison) gainHalves(filters []biquad.Filter, t *target, o SolveOptions) []float64 {
	half := make([]float64, len(filters))
	for i := range half {
		half[i] = math.NaN()
	}
	if t.points == nil || len(filters) == 0 {
		return half
	}
	g := mat.NewDense(len(t.points), len(filters), nil)
	for j, f := range filters {
		const step = 0.5 // dB either side: near enough to a derivative, and never at 0 dB
		up, down := f, f
		up.GainDB, down.GainDB = f.GainDB+step, f.GainDB-step
		high := c.response([]biquad.Filter{up})
		low := c.response([]biquad.Filter{down})
		for b := range high {
			high[b] = (high[b] - low[b]) / (2 * step)
		}
		c.smoother.Smooth(high, high)
		mean := 0.0
		for _, b := range t.points {
			mean += high[b] / float64(len(t.points))
		}
		for i, b := range t.points {
			g.Set(i, j, high[b]-mean)
		}
	}
	var square, inverse, solver, half2, cov mat.Dense
	square.Mul(g.T(), g)
	if inverse.Inverse(&square) != nil { // two moves alike: neither is known alone
		return half
	}
	solver.Mul(&inverse, g.T())
	half2.Mul(&solver, t.cov)
	cov.Mul(&half2, solver.T())
	share := o.TowardPercent / 100
	for i := range half {
		half[i] = bandFactor * share * math.Sqrt(max(0, cov.At(i, i)))
	}
	return half
}

// spreadAround returns the mean of SpreadDB where a move works, NaN without one.
func (r *Result) spreadAround(f biquad.Filter) float64 {
	if r.SpreadDB == nil {
		return math.NaN()
	}
	low, high := reach(f)
	spread, _ := r.judgedMean(r.SpreadDB, low, high)
	return spread
}
