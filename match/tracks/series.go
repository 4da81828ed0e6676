package tracks

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/multitrack"
)

// levelSeries is the levels of one third octave in the seconds that a mix and a copy share.
type levelSeries struct {
	third  int
	weight float64   // see weights
	rows   []int     // of the mix
	mixDB  []float64 // level in each row, the overall difference in level removed
	refDB  []float64 // at the same moment
}

// rmsResidual returns the root mean square in dB of what a change of the mix, in dB per row, leaves
// between mix and reference. If free, the mean is removed.
func (c *levelSeries) rmsResidual(change func(i int) float64, free bool) float64 {
	var d []float64
	for i, db := range c.mixDB {
		d = append(d, c.refDB[i]-db-change(i))
	}
	return deviation(d, free)
}

// deviation returns the root mean square of values in dB, their mean removed if free. Deviations
// are clipped at mostDB, so that a note's edge does not decide.
func deviation(d []float64, free bool) float64 {
	const mostDB = 12 // our choice
	mean := 0.0
	if free {
		for _, v := range d {
			mean += v / float64(len(d))
		}
	}
	sum := 0.0
	for _, v := range d {
		v = min(math.Abs(v-mean), mostDB)
		sum += v * v
	}
	return math.Sqrt(sum / float64(max(1, len(d))))
}

// quantile returns a quantile of ascending values, interpolated linearly.
func quantile(x []float64, at float64) float64 {
	pos := at*float64(len(x)) - 0.5
	i := min(max(int(math.Floor(pos)), 0), len(x)-1)
	j := min(i+1, len(x)-1)
	return x[i] + min(max(pos-float64(i), 0), 1)*(x[j]-x[i])
}

// weakDB: seconds in which a third octave of the mix is weaker than this under its mean are not
// used, since they are noise and tails. Our choice.
const weakDB = 25

// seriesOf returns the series of the third octaves within a move's reach, each second beside the same
// moment of a copy; none without a copy.
func (s *session) seriesOf(weight [multitrack.Thirds]float64) []*levelSeries {
	ref, lagSec, ok := s.copyOf()
	if !ok {
		return nil
	}
	refGate := ref.GateWeights()
	var moments [][2]int
	for _, row := range s.seconds {
		if j := int(math.Round(float64(row) - lagSec)); j >= 0 && j < ref.Rows && refGate[j] > 0.5 {
			moments = append(moments, [2]int{row, j})
		}
	}
	var all []*levelSeries
	var apart []float64
	for third := range multitrack.Thirds {
		if !s.isJudged(third) {
			continue
		}
		mean := s.meanMix(third)
		c := &levelSeries{third: third, weight: weight[third]}
		for _, m := range moments {
			p, q := float64(s.RowMix[m[0]*multitrack.Thirds+third]), thirdOf(ref, m[1], third)
			if p > mean*spectrum.DBToPower(-weakDB) && q > 0 {
				c.rows = append(c.rows, m[0])
				c.mixDB, c.refDB = append(c.mixDB, spectrum.PowerToDB(p)), append(c.refDB, spectrum.PowerToDB(q))
				apart = append(apart, c.refDB[len(c.refDB)-1]-c.mixDB[len(c.mixDB)-1])
			}
		}
		if len(c.rows) >= leastSeconds {
			all = append(all, c)
		}
	}
	level := median(apart) // one track does not change most seconds and third octaves
	return slices.DeleteFunc(all, func(c *levelSeries) bool {
		floats.AddConst(level, c.mixDB)
		return c.weight == 0
	})
}

// leastSeconds is the smallest number of seconds in a series. Our choice.
const leastSeconds = 10

// isJudged reports whether the middle band of a third octave is judged.
func (s *session) isJudged(third int) bool {
	return s.judged[midBand(third)]
}

// meanMix returns the mix's mean power in a third octave over the seconds in use.
func (s *session) meanMix(third int) float64 {
	from, to := multitrack.ThirdBands(third)
	return floats.Sum(s.MixPower[from:to])
}

// thirdOf returns the power of a recording's row in a third octave.
func thirdOf(r *measure.Recording, row, third int) float64 {
	sum := 0.0
	from, to := multitrack.ThirdBands(third)
	for _, p := range r.Row(row)[from:to] {
		sum += float64(p)
	}
	return sum
}

func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	x = slices.Clone(x)
	slices.Sort(x)
	return quantile(x, 0.5)
}

// copyOf returns the first reference that is a copy of the mix's song and has levels over time,
// and by how many seconds the mix runs behind it.
func (s *session) copyOf() (*measure.Recording, float64, bool) {
	for i, ref := range s.r.References {
		if s.r.SameSong[i] {
			return ref, s.r.LagSec(i), true
		}
	}
	return nil, 0, false
}
