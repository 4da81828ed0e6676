package fit

import (
	"math"
	"slices"

	"toneplumb/biquad"
)

// dialled is a filter as its dials show it.
type dialled struct {
	shape biquad.Shape
	terms DialTerms
	steps [3][]float64 // settings of each dial; none for one without steps
	at    [3]int       // index into steps
	free  [3]float64   // the value on a dial without steps
}

// dialled returns the settings nearest to filters.
func (m *model) dialled(filters []biquad.Filter) []dialled {
	all := make([]dialled, len(filters))
	for i, f := range filters {
		a := m.limits[f.Shape]
		d := dialled{shape: f.Shape, terms: a.Terms}
		d.free[biquad.ByLnFreq], d.free[biquad.ByGainDB], d.free[biquad.ByWidth] = a.Dialled(f)
		for j, dial := range a.dials() {
			if !dial.continuous() {
				d.steps[j] = dial.settings()
				d.at[j] = nearestIndex(d.steps[j], d.free[j])
			}
			low, high := dial.limits()
			d.free[j] = min(max(d.free[j], low), high)
		}
		all[i] = d
	}
	return all
}

func nearestIndex(values []float64, x float64) int {
	i, _ := slices.BinarySearch(values, x)
	if i == len(values) || i > 0 && x-values[i-1] < values[i]-x {
		i--
	}
	return i
}

func (d dialled) filter() biquad.Filter {
	v := d.free
	for i, steps := range d.steps {
		if len(steps) > 0 {
			v[i] = steps[d.at[i]]
		}
	}
	return d.terms.Filter(d.shape, v[biquad.ByLnFreq], v[biquad.ByGainDB], v[biquad.ByWidth])
}

func (m *model) dialledCost(settings []dialled) float64 {
	moves := make([]move, 0, len(settings))
	for _, d := range settings {
		f := d.filter()
		if f.Check(m.p.RateHz) != nil {
			return math.Inf(1) // a corner so high that the half-gain point is above half the sample rate
		}
		moves = append(moves, toMove(f))
	}
	return m.cost(moves)
}

// allows reports whether Problem.Allow accepts the settings.
func (m *model) allows(settings []dialled) bool {
	return m.p.Allow == nil || m.p.Allow(audible(settings))
}

// audible returns the filters of settings that are not at 0 dB, in ascending order of frequency.
func audible(settings []dialled) (all []biquad.Filter) {
	for _, d := range settings {
		if f := d.filter(); f.GainDB != 0 {
			all = append(all, f)
		}
	}
	slices.SortStableFunc(all, byFrequency)
	return all
}

// nearerNeighbour returns the best set with one or two settings moved by a step, and its
// cost; nil if none is better. Only sets for which may returns true count; nil means all.
func (m *model) nearerNeighbour(settings []dialled, cost float64, may func([]dialled) bool) ([]dialled, float64) {
	type shift struct{ filter, dial, by int }
	var shifts []shift
	for i, d := range settings {
		for dial, steps := range d.steps {
			for _, by := range []int{-1, 1} {
				if k := d.at[dial] + by; k >= 0 && k < len(steps) {
					shifts = append(shifts, shift{i, dial, by})
				}
			}
		}
	}
	var best []dialled
	least := cost * (1 - 1e-9)
	trial := slices.Clone(settings)
	try := func() {
		if c := m.dialledCost(trial); c < least && (may == nil || may(trial)) {
			best, least = slices.Clone(trial), c
		}
	}
	for a, s := range shifts {
		trial[s.filter].at[s.dial] += s.by
		try()
		for _, t := range shifts[:a] {
			if t.filter == s.filter && t.dial == s.dial {
				continue
			}
			trial[t.filter].at[t.dial] += t.by
			try()
			trial[t.filter].at[t.dial] -= t.by
		}
		trial[s.filter].at[s.dial] -= s.by
	}
	return best, least
}
