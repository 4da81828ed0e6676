package uncertainty

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Replicates returns of(d) for each of 400 draws d of the pairs' blocks, in a fixed order.
func Replicates(pairs []Pair, of func(d *Draws) []float64) [][]float64 {
	rng := rand.New(rand.NewPCG(seed, seed))
	d := newDraws(pairs)
	rows := make([][]float64, replicates)
	for k := range rows {
		d.next(rng)
		rows[k] = of(d)
	}
	return rows
}

// JointHalves returns half the joint 95 % interval of each value, given rows of their
// replicates; NaN for a value that is NaN. In 95 % of draws, all intervals at once hold the
// values of other stretches of the same music. Each draw contributes the value that moved
// furthest in units of its own standard deviation; the 95th percentile of these is the
// half-width, in standard deviations, of every interval.
// Source: the studentised maximum of simultaneous bootstrap bands, after R. Beran,
// J. Amer. Statist. Assoc. 83 (1988), 679–686 (from memory).
func JointHalves(pairs []Pair, rows [][]float64) []float64 {
	furthest, halves := make([]float64, len(rows)), make([]float64, len(rows[0]))
	var values []float64
	for i := range halves {
		values = column(values, rows, i)
		mean, sd := stat.MeanStdDev(values, nil)
		halves[i] = sd
		for k, v := range values {
			if sd > 0 { // false for NaN
				furthest[k] = max(furthest[k], math.Abs(v-mean)/sd)
			}
		}
	}
	slices.Sort(furthest)
	deviations := studentQuantile(stat.Quantile(0.95, stat.Empirical, furthest, nil), fewestOf(pairs))
	factor, floorDB := smallSample(pairs)
	for i, sd := range halves {
		halves[i] = deviations * math.Hypot(math.Sqrt(factor)*sd, floorDB)
	}
	return halves
}

// studentQuantile converts a quantile in standard deviations of the normal distribution to that
// of Student's t with n−1 degrees of freedom: the deviation itself is estimated from n blocks
// (from memory). Without it, the intervals of all zones of 22 songs held the truth at once in
// 0.90 of divisions of 10 s; see TestCheckCovers in match.
func studentQuantile(deviations float64, n int) float64 {
	if n < 2 {
		return deviations // smallSample adds a floor then
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(n - 1)}
	return t.Quantile(distuv.UnitNormal.CDF(deviations))
}

// fewestOf returns the number of blocks on the side that has the fewest, over all pairs.
func fewestOf(pairs []Pair) int {
	n := math.MaxInt
	for _, p := range pairs {
		n = min(n, len(p.Mix), len(p.Reference))
	}
	return n
}

// column writes value i of each row to dst (nil: a new slice) and returns it.
func column(dst []float64, rows [][]float64, i int) []float64 {
	if dst == nil {
		dst = make([]float64, len(rows))
	}
	for k, row := range rows {
		dst[k] = row[i]
	}
	return dst
}

// covariance returns the covariance over rows of their values at some columns.
func covariance(rows [][]float64, columns []int) *mat.SymDense {
	x := mat.NewDense(len(rows), len(columns), nil)
	var values []float64
	for i, c := range columns {
		values = column(values, rows, c)
		x.SetCol(i, values)
	}
	cov := mat.NewSymDense(len(columns), nil)
	stat.CovarianceMatrix(cov, x, nil)
	return cov
}
