package uncertainty

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Replicates returns what each of the draws gives.
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

// JointHalves returns half the joint 95 % interval of values from their replicates; NaN for
// what is NaN. All intervals together hold the values of other stretches of the same music
// in 95 % of draws: of each draw the value counts that has moved furthest by its own
// standard deviation. The 95th hundredth of that many deviations is the same for all.
// Source: the studentised maximum of simultaneous bootstrap bands, after R. Beran,
// J. Amer. Statist. Assoc. 83 (1988), 679–686 (from memory).
func JointHalves(pairs []Pair, rows [][]float64) []float64 {
	all := newMoments(len(rows[0]))
	for _, values := range rows {
		all.add(values)
	}
	var furthest []float64
	for _, values := range rows {
		most := 0.0
		for i, v := range values {
			if sd := all.sd(i); sd > 0 { // NaN is not
				most = max(most, math.Abs(v-all.sum[i]/all.n)/sd)
			}
		}
		furthest = append(furthest, most)
	}
	slices.Sort(furthest)
	deviations := studentQuantile(stat.Quantile(0.95, stat.Empirical, furthest, nil), fewestOf(pairs))
	factor, floorDB := smallSample(pairs)
	halves := make([]float64, len(rows[0]))
	for i := range halves {
		halves[i] = deviations * math.Hypot(math.Sqrt(factor)*all.sd(i), floorDB)
	}
	return halves
}

// studentQuantile returns the deviations that n blocks need, whose own deviation is known by n
// values alone, where a normal distribution needs so many: Student's t, from memory.
// Without it the zones of 22 songs held the truth at once in 0.90 of divisions of 10 s;
// see TestCheckCovers in match.
func studentQuantile(deviations float64, n int) float64 {
	if n < 2 {
		return deviations // smallSample has a floor for that
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(n - 1)}
	return t.Quantile(distuv.UnitNormal.CDF(deviations))
}

// fewestOf is how many blocks there are on the side that has the fewest, of all pairs.
func fewestOf(pairs []Pair) int {
	n := math.MaxInt
	for _, p := range pairs {
		n = min(n, len(p.Mix), len(p.Reference))
	}
	return n
}
