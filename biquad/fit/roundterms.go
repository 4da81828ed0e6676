package fit

import (
	"math"
	"slices"

	"toneplumb/biquad"
)

// roundTerms is Round for dials whose terms are not the fit's own. The meaning of such a
// dial may depend on the gain, so settings are tried as they are shown: starting from those
// nearest to s, each setting and each pair of settings is moved by one step for as long
// as that comes nearer to the target.
func (m *model) roundTerms(s Solution) Solution {
	moves := make([]shownMove, len(s.Filters))
	for i, f := range s.Filters {
		moves[i] = m.shown(f)
	}
	cost := m.shownCost(moves)
	for range roundPasses * len(moves) {
		next, less := m.nearerNeighbour(moves, cost)
		if next == nil {
			break
		}
		moves, cost = next, less
	}
	var filters []biquad.Filter
	for _, mv := range moves {
		if f := mv.filter(); f.GainDB != 0 {
			filters = append(filters, f)
		}
	}
	return m.solution(filters)
}

// shownMove is a filter as its dials show it.
type shownMove struct {
	shape biquad.Shape
	terms DialTerms
	steps [3][]float64 // settings of each dial; none for one without steps
	at    [3]int       // index into steps
	free  [3]float64   // the value on a dial without steps
}

// shown returns the settings nearest to a filter.
func (m *model) shown(f biquad.Filter) shownMove {
	a := m.limits[f.Shape]
	mv := shownMove{shape: f.Shape, terms: a.Terms}
	hz, db, width := a.Dialled(f)
	for i, d := range []struct {
		value float64
		dial  Dial
	}{{hz, a.FreqHz}, {db, a.GainDB}, {width, a.Width}} {
		low, high := d.dial.limits()
		mv.free[i] = min(max(d.value, low), high)
		if !d.dial.continuous() {
			mv.steps[i] = d.dial.settings()
			mv.at[i] = nearestIndex(mv.steps[i], d.value)
		}
	}
	return mv
}

func nearestIndex(values []float64, x float64) int {
	i, _ := slices.BinarySearch(values, x)
	if i == len(values) || i > 0 && x-values[i-1] < values[i]-x {
		i--
	}
	return i
}

func (mv shownMove) filter() biquad.Filter {
	v := mv.free
	for i, steps := range mv.steps {
		if len(steps) > 0 {
			v[i] = steps[mv.at[i]]
		}
	}
	return mv.terms.Filter(mv.shape, v[biquad.ByLnFreq], v[biquad.ByGainDB], v[biquad.ByWidth])
}

func (m *model) shownCost(moves []shownMove) float64 {
	inside := make([]move, 0, len(moves))
	for _, mv := range moves {
		f := mv.filter()
		if f.Check(m.p.RateHz) != nil {
			return math.Inf(1) // a corner so high that the half-gain point is above half the sample rate
		}
		inside = append(inside, toMove(f))
	}
	return m.cost(inside)
}

// nearerNeighbour returns the best set with one or two settings moved by a step, and its
// cost; nil if none is better.
func (m *model) nearerNeighbour(moves []shownMove, cost float64) ([]shownMove, float64) {
	type shift struct{ move, dial, by int }
	var shifts []shift
	for i, mv := range moves {
		for dial, steps := range mv.steps {
			for _, by := range []int{-1, 1} {
				if k := mv.at[dial] + by; k >= 0 && k < len(steps) {
					shifts = append(shifts, shift{i, dial, by})
				}
			}
		}
	}
	var best []shownMove
	least := cost * (1 - 1e-9)
	trial := slices.Clone(moves)
	try := func() {
		if c := m.shownCost(trial); c < least {
			best, least = slices.Clone(trial), c
		}
	}
	for a, s := range shifts {
		trial[s.move].at[s.dial] += s.by
		try()
		for _, t := range shifts[:a] {
			if t.move == s.move && t.dial == s.dial {
				continue
			}
			trial[t.move].at[t.dial] += t.by
			try()
			trial[t.move].at[t.dial] -= t.by
		}
		trial[s.move].at[s.dial] -= s.by
	}
	return best, least
}

// ownLimits returns the ranges of half-gain or centre frequency and of Q or slope that
// the dials can reach at some gain; the search stays inside them.
func (a ShapeLimits) ownLimits(shape biquad.Shape) (minHz, maxHz, minWidth, maxWidth float64) {
	minHz, maxHz = math.Inf(1), 0
	minWidth, maxWidth = math.Inf(1), 0
	lowHz, highHz := a.FreqHz.limits()
	narrow, wide := a.Width.limits()
	lowDB, highDB := a.GainDB.limits()
	most := math.Max(math.Abs(lowDB), math.Abs(highDB))
	gains := []float64{most, most / 2, math.Min(0.5, most)}
	if a.Terms.Law.CutFactor != 0 {
		gains = append(gains, -most, -most/2, -math.Min(0.5, most))
	}
	for _, gainDB := range gains {
		for _, hz := range []float64{lowHz, highHz} {
			for _, width := range []float64{narrow, wide} {
				f := a.Terms.Filter(shape, hz, gainDB, width)
				own := f.Q
				if shape != biquad.Bell {
					own = math.Min(biquad.SlopeFromQ(f.Q, gainDB), 1)
				}
				minHz, maxHz = math.Min(minHz, f.FreqHz), math.Max(maxHz, f.FreqHz)
				minWidth, maxWidth = math.Min(minWidth, own), math.Max(maxWidth, own)
			}
		}
	}
	return minHz, maxHz, minWidth, maxWidth
}
