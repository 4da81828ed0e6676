package fit

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"toneplumb/biquad"
)

// How far Round searches. Our choice, from trials; what rounding costs is measured in
// round_test.go and written in ../README.md, "Search".
const (
	roundKept   = 6 // partly rounded sets carried on
	roundSteps  = 3 // of descent after each rounding
	roundPasses = 8 // of the last search over neighbours, at most
)

// Round returns s with every setting on the equaliser's dials; a dial without steps
// may have any value in its range. A move that ends at 0 dB is dropped. It panics if the
// problem is incomplete or s has a filter that the equaliser lacks.
//
// Settings are rounded one after another, frequencies first, then widths, then gains,
// each to the step below and to the step above. After each rounding the settings still
// free are fitted again, and the best few sets are carried on. At the end each setting
// and each pair of settings is tried one step to either side. If Problem.Allow refuses what
// comes out, the best set that it accepts among those neighbours is returned, if there is one.
//
// If the terms of a dial are not the fit's own, its meaning may depend on the gain. Then
// the last search starts from the settings nearest to s and takes as many passes per move.
func Round(p Problem, s Solution) Solution {
	p.check()
	m := newModel(&p)
	ownTerms := true
	for _, f := range s.Filters {
		if f.Shape.IsCut() || m.limits[f.Shape].Count == 0 {
			panic(fmt.Sprintf("fit: the equaliser has no %v", f.Shape))
		}
		ownTerms = ownTerms && m.limits[f.Shape].Terms == (DialTerms{})
	}
	start, passes := s.Filters, roundPasses*len(s.Filters)
	if ownTerms {
		start, passes = m.roundEach(s.Filters), roundPasses
	}
	settings := m.dialled(start)
	cost := m.dialledCost(settings)
	for range passes {
		better, less := m.nearerNeighbour(settings, cost, nil)
		if better == nil {
			break
		}
		settings, cost = better, less
		if ownTerms {
			settings, cost = m.refit(settings)
		}
	}
	if !m.allows(settings) {
		if allowed, _ := m.nearerNeighbour(settings, math.Inf(1), m.allows); allowed != nil {
			settings = allowed
		}
	}
	return m.solution(audible(settings))
}

// roundEach rounds one setting after another.
func (m *model) roundEach(all []biquad.Filter) []biquad.Filter {
	start := moveSet{moves: make([]move, len(all))}
	for i, f := range all {
		start.moves[i] = toMove(f)
		start.moves[i].at = m.boxes[f.Shape].clamp(start.moves[i].at)
	}
	front := []moveSet{start}
	for _, parameter := range []int{biquad.ByLnFreq, biquad.ByWidth, biquad.ByGainDB} {
		for i := range all {
			front = m.fix(front, i, parameter)
		}
	}
	m.descend(&front[0], usual.full, usual.enough) // dials without steps
	return filters(front[0].moves)
}

// fix puts one parameter of move i, in each of the sets, on the settings just below and
// above its value, fits the rest again and returns the best sets, best first.
func (m *model) fix(sets []moveSet, i, parameter int) []moveSet {
	shape := sets[0].moves[i].shape
	dial := m.limits[shape].dials()[parameter]
	if dial.continuous() {
		return sets
	}
	inside := slices.Clone(dial.settings())
	if isLogarithmic(shape, parameter) {
		for k, v := range inside {
			inside[k] = math.Log(v)
		}
	}
	var next []moveSet
	for _, c := range sets {
		above, _ := slices.BinarySearch(inside, c.moves[i].at[parameter])
		for j := max(0, above-1); j <= min(above, len(inside)-1); j++ {
			t := moveSet{moves: slices.Clone(c.moves)}
			t.moves[i].at[parameter] = inside[j]
			t.moves[i].fixed[parameter] = true
			m.descend(&t, roundSteps, usual.enough)
			next = append(next, t)
		}
	}
	slices.SortStableFunc(next, func(a, b moveSet) int { return cmp.Compare(a.cost, b.cost) })
	return next[:min(roundKept, len(next))]
}

// refit fits the dials without steps again, with the others where they are, and returns the
// settings and their cost.
func (m *model) refit(settings []dialled) ([]dialled, float64) {
	c := moveSet{moves: make([]move, len(settings))}
	for i, d := range settings {
		c.moves[i] = toMove(d.filter())
		for j, steps := range d.steps {
			c.moves[i].fixed[j] = len(steps) > 0
		}
	}
	m.descend(&c, roundSteps, usual.enough)
	return m.dialled(filters(c.moves)), c.cost
}
