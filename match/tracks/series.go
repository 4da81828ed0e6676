package tracks

import (
	"math"
	"slices"
)

// levelSeries is the levels of one third octave over the seconds that count, beside the
// reference's.
type levelSeries struct {
	third  int
	weight float64
	rows   []int     // of the mix
	mixDB  []float64 // level of each, and with level differences made good
	refDB  []float64 // paired: at the same moment; else quantiles in order of size
	paired bool
}

// rmsResidual returns the root mean square of what a change in dB leaves between mix and
// reference; level free or not.
func (c *levelSeries) rmsResidual(change func(i int) float64, free bool) float64 {
	n := len(c.mixDB)
	moved := make([]float64, n)
	for i, db := range c.mixDB {
		moved[i] = db + change(i)
	}
	var d []float64
	if c.paired {
		for i, db := range moved {
			d = append(d, c.refDB[i]-db)
		}
	} else {
		slices.Sort(moved)
		for q, db := range c.refDB {
			d = append(d, db-quantile(moved, quantileAt(q, len(c.refDB))))
		}
	}
	return deviation(d, free)
}

// deviation is the root mean square of values, their mean taken out if free. Values
// beyond mostDB count as mostDB, so that a note's edge does not decide.
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

// quantileAt is the q-th of n evenly spaced quantiles.
func quantileAt(q, n int) float64 { return (float64(q) + 0.5) / float64(n) }

// quantile of ascending values, straight between them.
func quantile(x []float64, at float64) float64 {
	pos := at*float64(len(x)) - 0.5
	i := min(max(int(math.Floor(pos)), 0), len(x)-1)
	j := min(i+1, len(x)-1)
	return x[i] + min(max(pos-float64(i), 0), 1)*(x[j]-x[i])
}
