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
// and each pair of settings is tried one step to either side.
func Round(p Problem, s Solution) Solution {
	p.check()
	m := newModel(&p)
	if len(s.Filters) == 0 {
		return m.solution(nil)
	}
	for _, f := range s.Filters {
		if m.limits[f.Shape].Terms != (DialTerms{}) {
			return m.roundTerms(s)
		}
	}
	d := m.newDials()
	start := moveSet{moves: make([]move, len(s.Filters))}
	for i, f := range s.Filters {
		if f.Shape.IsCut() || m.limits[f.Shape].Count == 0 {
			panic(fmt.Sprintf("fit: the equaliser has no %v", f.Shape))
		}
		start.moves[i] = toMove(f)
		start.moves[i].at = m.boxes[f.Shape].clamp(start.moves[i].at)
	}
	front := []moveSet{start}
	for _, parameter := range []int{biquad.ByLnFreq, biquad.ByWidth, biquad.ByGainDB} {
		for i := range start.moves {
			front = m.fix(d, front, i, parameter)
		}
	}
	best := front[0]
	m.descend(&best, usual.full, usual.enough) // dials without steps
	for range roundPasses {
		if !m.improve(d, &best) {
			break
		}
	}
	var filters []biquad.Filter
	for i := range best.moves {
		if f := d.filter(&best.moves[i]); f.GainDB != 0 {
			filters = append(filters, f)
		}
	}
	return m.solution(filters)
}

// dials holds the settings of each shape and parameter, as the dial shows them and
// as the fit's parameter; none for a dial without steps.
type dials [len(shapes)][3]struct{ shown, inside []float64 }

func (m *model) newDials() *dials {
	var d dials
	for _, shape := range shapes {
		a := m.limits[shape]
		for i, dial := range []Dial{a.FreqHz, a.GainDB, a.Width} {
			if a.Count == 0 || dial.continuous() {
				continue
			}
			e := &d[shape][i]
			e.shown = dial.settings()
			e.inside = slices.Clone(e.shown)
			if isLogarithmic(shape, i) {
				for j, v := range e.shown {
					e.inside[j] = math.Log(v)
				}
			}
		}
	}
	return &d
}

// nearest returns the index of the setting nearest to the move's parameter.
func (d *dials) nearest(mv *move, parameter int) int {
	inside, x := d[mv.shape][parameter].inside, mv.at[parameter]
	i, _ := slices.BinarySearch(inside, x)
	if i == len(inside) || i > 0 && x-inside[i-1] < inside[i]-x {
		i--
	}
	return i
}

// filter returns a move with exactly the settings that the dials show.
func (d *dials) filter(mv *move) biquad.Filter {
	f := mv.filter()
	shown := func(parameter int, otherwise float64) float64 {
		if e := d[mv.shape][parameter]; len(e.shown) > 0 {
			return e.shown[d.nearest(mv, parameter)]
		}
		return otherwise
	}
	f.FreqHz = shown(biquad.ByLnFreq, f.FreqHz)
	f.GainDB = shown(biquad.ByGainDB, f.GainDB)
	if mv.shape == biquad.Bell {
		f.Q = shown(biquad.ByWidth, f.Q)
	} else {
		f.Q = biquad.QFromSlope(shown(biquad.ByWidth, mv.at[biquad.ByWidth]), f.GainDB)
	}
	return f
}

// fix puts one parameter of move i, in each of the sets, on the settings just below and
// above its value, fits the rest again and returns the best sets, best first.
func (m *model) fix(d *dials, sets []moveSet, i, parameter int) []moveSet {
	var next []moveSet
	for _, c := range sets {
		inside := d[c.moves[i].shape][parameter].inside
		if len(inside) == 0 {
			return sets
		}
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

// improve moves c to its best neighbour, which has one or two settings a step away, and
// reports whether that is better.
func (m *model) improve(d *dials, c *moveSet) bool {
	type shift struct{ move, parameter, steps int }
	var shifts []shift
	for i := range c.moves {
		for j := range c.moves[i].at {
			if len(d[c.moves[i].shape][j].inside) > 0 {
				shifts = append(shifts, shift{i, j, -1}, shift{i, j, 1})
			}
		}
	}
	trial := slices.Clone(c.moves)
	apply := func(s shift) bool {
		mv := &trial[s.move]
		inside := d[mv.shape][s.parameter].inside
		k := d.nearest(mv, s.parameter) + s.steps
		if k < 0 || k >= len(inside) {
			return false
		}
		mv.at[s.parameter] = inside[k]
		return true
	}
	best := moveSet{cost: c.cost * (1 - 1e-9)}
	try := func() {
		if cost := m.cost(trial); cost < best.cost {
			best = moveSet{moves: slices.Clone(trial), cost: cost}
		}
	}
	for a, s := range shifts {
		copy(trial, c.moves)
		if !apply(s) {
			continue
		}
		try()
		one := slices.Clone(trial)
		for _, t := range shifts[:a] {
			if s.move == t.move && s.parameter == t.parameter {
				continue
			}
			copy(trial, one)
			if apply(t) {
				try()
			}
		}
	}
	if best.moves == nil {
		return false
	}
	m.descend(&best, roundSteps, usual.enough) // dials without steps
	*c = best
	return true
}
