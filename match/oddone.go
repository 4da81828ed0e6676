package match

import "math"

// OddReference is that one of several references that makes most of their spread.
type OddReference struct {
	Index      int     // among the references, from 0
	DistanceDB float64 // rms, from the mean of the others
	OthersDB   float64 // how far the others lie from one another: the farthest from the mean of the rest
}

func (OddReference) Code() string       { return "odd-reference" }
func (OddReference) Severity() Severity { return Caution }

// A reference is the odd one where it lies this much farther off than any of the
// others would without it, and no nearer than two songs by one maker usually do. Our
// choice: so it is in 10 % of three or five songs by one maker. That is about as often as
// with a stranger among them, since songs by one maker differ as much: the remark is
// about the spread, see TestOddOneOnSongs.
const (
	oddFactor  = 2.5
	leastOddDB = 6
)

// oddOne returns the reference that makes most of the spread, nil if there is none or
// fewer than three.
func (c *Comparison) oddOne() *OddReference {
	if len(c.compared) < 3 {
		return nil
	}
	var levels [][]float64
	for _, p := range c.compared {
		levels = append(levels, c.smooth(c.levels(p.reference)))
	}
	all := make([]int, len(levels))
	for i := range all {
		all[i] = i
	}
	odd, distanceDB := c.farthest(levels, all)
	var others []int
	for _, i := range all {
		if i != odd {
			others = append(others, i)
		}
	}
	_, othersDB := c.farthest(levels, others)
	if distanceDB < max(leastOddDB, oddFactor*othersDB) {
		return nil
	}
	for i, ref := range c.References { // the pairs have an order of their own
		if ref == c.compared[odd].of {
			return &OddReference{i, distanceDB, othersDB}
		}
	}
	return nil
}

// farthest returns which of some curves is farthest from the mean of the rest.
func (c *Comparison) farthest(curves [][]float64, some []int) (which int, distanceDB float64) {
	distanceDB = math.Inf(-1)
	for _, i := range some {
		rest := make([]float64, len(curves[i]))
		for _, k := range some {
			if k != i {
				addMean(rest, curves[k], len(some)-1)
			}
		}
		for b, v := range curves[i] {
			rest[b] -= v
		}
		if d := c.judged.Distance(rest); d > distanceDB {
			which, distanceDB = i, d
		}
	}
	return which, distanceDB
}
