package match

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match/uncertainty"
)

// target is the whole tone difference to follow, and when to stop.
type target struct {
	db     []float64     // per band, mean over the judged bands removed
	points []int         // the bands of cov; nil for a drawn curve
	cov    *mat.SymDense // covariance over other stretches of the same music, in dB²
	exact  bool          // a copy or a drawn curve: follow it exactly, with any moves

	cutPrice, boostPrice float64 // see fit.Problem
	nothingDB            float64 // a target of less rms gets no moves
	moveDB               float64 // by how much each further move must reduce the residual
}

const (
	// noNoiseDB is the scatter below which a copy's difference is followed exactly. Our
	// choice.
	noNoiseDB = 0.1
	// copyEnoughDB is near enough for a copy and for a drawn curve, and what each further move must be
	// worth there. Our choice: the steps of the dials leave about as much.
	copyEnoughDB = 0.05
	// copyFarDB is what copyMoves moves of copyLouder times the common gains may leave of a copy's
	// difference. If they leave more, no equaliser made it, and moves that follow it exactly mean
	// nothing. Our choice.
	copyFarDB, copyMoves, copyLouder = 0.5, 6, 2
	// A target whose rms is below nothingDB, or below nothingShare of the measurement's mean
	// standard deviation, gets no moves. Measured on songs: larger values leave more songs
	// alone that were not equalised.
	nothingDB, nothingShare = 0.3, 0.5
	// moveDB is what a move must be worth. Our choice: two steps of a gain dial on
	// a third of the spectrum.
	moveDB = 0.15
	// cutPrice makes two moves of ±6 dB that cancel each other cost as much as 0.38 dB of
	// residual (2·36·0.002 = 0.144 dB², and √0.144 = 0.38). Our choice: three prices from
	// 0.0006 to 0.003 gave the same rows of the evaluation within 0.02 dB. Boosts cost
	// more: of two sets that differ only in level, the one that cuts leaves headroom.
	cutPrice, boostPrice = 0.002, 0.004
)

// target returns what to follow. A drawn curve is followed exactly, and so is a copy of the mix's
// song if a few moves can. Of anything else only the part that is tone rather than arrangement.
func (c *Comparison) target(stage Stage) *target {
	s := c.uncertainty
	if s == nil {
		return &target{db: c.DifferenceDB, exact: true, nothingDB: copyEnoughDB, moveDB: copyEnoughDB}
	}
	if c.followed {
		return &target{db: slices.Clone(c.DifferenceDB), points: s.Points, cov: s.Covariance(), exact: true, nothingDB: copyEnoughDB, moveDB: copyEnoughDB}
	}
	tone := stage.prior(c).MeanDB(c.DifferenceDB, s)
	return &target{db: c.limited(tone), points: s.Points, cov: s.Covariance(),
		cutPrice: cutPrice, boostPrice: boostPrice, moveDB: moveDB, nothingDB: max(nothingDB, nothingShare*s.MeanDB())}
}

// fewMovesFollow reports whether the references are copies with little scatter, and a few moves can
// follow their difference.
func (c *Comparison) fewMovesFollow() bool {
	if !c.ownSong() || c.uncertainty.MeanDB() >= noNoiseDB {
		return false
	}
	o := DefaultSolve()
	p := c.problem(&target{db: c.DifferenceDB}, o)
	p.Equaliser = p.Equaliser.Louder(copyLouder)
	search := fit.Begin(p)
	for range copyMoves {
		if search.Next().ResidualDB <= copyFarDB {
			return true
		}
	}
	return c.judged.RMS(c.DifferenceDB) <= copyFarDB
}

// limited returns a target limited to between 0 and the difference in each band, all with their
// mean over the judged bands removed, so that no advice opposes the measurement or
// exceeds it. Bisection finds the level at which the limited target has no mean. Bands that
// are left out are not limited.
func (c *Comparison) limited(db []float64) []float64 {
	at := func(level float64) (held []float64, mean float64) {
		held = make([]float64, len(db))
		for b, d := range c.DifferenceDB {
			if held[b] = db[b] + level; !math.IsNaN(d) {
				held[b] = min(max(held[b], min(d, 0)), max(d, 0))
			}
		}
		mean, _ = c.judged.Mean(held, 0, math.Inf(1))
		return held, mean
	}
	c.judged.Centre(db)
	low, high := -100.0, 100.0 // beyond these all bands are at one of their limits
	for range 60 {
		if _, mean := at((low + high) / 2); mean < 0 {
			low = (low + high) / 2
		} else {
			high = (low + high) / 2
		}
	}
	held, _ := at((low + high) / 2)
	return held
}

// gainRange is the likely range of a gain over other stretches of the same music, in dB.
type gainRange struct{ lowDB, highDB float64 }

// gainRanges returns the likely range of each move's gain, at fixed frequency and width. The
// gains that follow the measured difference best are linear in it,
//
//	g = (GᵀG)⁻¹·Gᵀ·d, cov g = (GᵀG)⁻¹·Gᵀ·C·G·(GᵀG)⁻¹
//
// where G is the effect of 1 dB of each move at the points and C the covariance of the
// measurement. The range is then scaled to the wanted share. NaN without a covariance, or if two
// moves are alike.
func (c *Comparison) gainRanges(filters []biquad.Filter, t *target, o SolveOptions) []gainRange {
	ranges := make([]gainRange, len(filters))
	for i := range ranges {
		ranges[i] = gainRange{math.NaN(), math.NaN()}
	}
	if t.points == nil || len(filters) == 0 {
		return ranges
	}
	solver, ok := c.gainSolver(filters, t.points)
	if !ok { // two moves are alike: neither gain is known alone
		return ranges
	}
	d := mat.NewVecDense(len(t.points), nil)
	for i, b := range t.points {
		d.SetVec(i, c.DifferenceDB[b])
	}
	uncertainty.Centre(d)
	var gains mat.VecDense
	var half, cov mat.Dense
	gains.MulVec(solver, d)
	half.Mul(solver, t.cov)
	cov.Mul(&half, solver.T())
	share := o.TowardPercent / 100
	for i := range ranges {
		sd := math.Sqrt(max(0, cov.At(i, i)))
		ranges[i] = gainRange{share * (gains.AtVec(i) - uncertainty.Factor95*sd), share * (gains.AtVec(i) + uncertainty.Factor95*sd)}
	}
	return ranges
}

// gainSolver returns (GᵀG)⁻¹·Gᵀ, which maps a curve at the points to the gains that
// follow it best; ok is false if two moves are alike.
func (c *Comparison) gainSolver(filters []biquad.Filter, points []int) (solver *mat.Dense, ok bool) {
	g := mat.NewDense(len(points), len(filters), nil)
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
		for _, b := range points {
			mean += high[b] / float64(len(points))
		}
		for i, b := range points {
			g.Set(i, j, high[b]-mean)
		}
	}
	var square, inverse mat.Dense
	square.Mul(g.T(), g)
	if inverse.Inverse(&square) != nil {
		return nil, false
	}
	solver = new(mat.Dense)
	solver.Mul(&inverse, g.T())
	return solver, true
}

// spreadAround returns the mean of ReferenceSpreadDB where a move works, NaN for one reference.
func (r *Result) spreadAround(f biquad.Filter) float64 {
	if r.ReferenceSpreadDB == nil {
		return math.NaN()
	}
	low, high := reach(f)
	spread, _ := r.judged.Mean(r.ReferenceSpreadDB, low, high)
	return spread
}
