package tracks

import (
	"cmp"
	"math"
	"slices"

	"toneplumb/spectrum"
)

// search finds the fewest actions that turn the mix into a copy of it, moment by moment.
type search struct {
	*session
	*cells
}

const (
	mostFaderDB = 12.0 // up or down; our choice: more is another arrangement
	mostActions = 6    // our choice: more is no plan
	WorthDB     = 0.15 // by which each action must reduce the distance, the same as match.moveDB
	betterShare = 0.95 // each action must reduce the cells' residual to this share
	outlierDB   = 1.0  // beyond it a cell's residual is weighted linearly, not squared (P. J. Huber 1964, from memory); our choice
	alikeShare  = 1.1  // a simpler action may leave up to this ratio more than the best; our choice
	priceDB2    = 1e-4 // price of a gain of priceOfDB against the mean squared residual: decides what the cells do not
	priceOfDB   = 6.0
	tried       = 4   // actions of each kind that are refined, by the linear estimate
	explainedDB = 0.1 // rms of the cells that plain sums reach; measured on songs
)

// solution is a set of actions with what they leave.
type solution struct {
	actions []action
	cellDB  float64 // root of the mean Huber function over the cells
	leftDB  float64 // the distance
}

// best returns the best solution with one more action: the simplest, see kind, of those that
// leave about as little as the best.
func (s *search) best(have []action) (solution, bool) {
	res := make([]float64, len(s.mix))
	s.residuals(have, res)
	var found [kinds]solution
	var is [kinds]bool
	for _, a := range s.candidates(have, res) {
		kind := s.kind(a)
		if x := s.refine(append(slices.Clone(have), a)); !is[kind] || x.cellDB < found[kind].cellDB {
			found[kind], is[kind] = x, true
		}
	}
	least := math.Inf(1)
	for kind, x := range found {
		if is[kind] {
			least = min(least, x.cellDB)
		}
	}
	for kind, x := range found {
		if is[kind] && x.cellDB <= alikeShare*least+0.01 {
			return x, true
		}
	}
	return solution{}, false
}

// run returns the fewest actions that are worth it, of those that explain the cells about as well as
// any: found one by one, or faders several at once, alone or beside the filters found.
func (s *search) run() solution {
	oneByOne := s.grow(s.nothing())
	found := []solution{s.prune(oneByOne)}
	filters := slices.DeleteFunc(slices.Clone(oneByOne.actions), func(a action) bool { return !a.isFilter })
	set := simplest(append(s.faderSets(nil), s.nothing()))
	found = append(found, s.prune(set), s.prune(s.grow(set))) // what grew may be pruned to another set
	if len(filters) > 0 {
		found = append(found, s.prune(s.grow(simplest(append(s.faderSets(filters), oneByOne)))))
	}
	return simplest(found)
}

// simplest returns the solution with the fewest actions, and of these that with the fewest filters and
// the smallest gains, among those that leave about as little as the best or that explain the cells:
// three faders up are also the others down, if there are only a few others.
func simplest(all []solution) solution {
	least := slices.MinFunc(all, func(a, b solution) int { return cmp.Compare(a.cellDB, b.cellDB) }).cellDB
	most := max(alikeShare*least+0.01, explainedDB)
	alike := slices.DeleteFunc(slices.Clone(all), func(x solution) bool { return x.cellDB > most })
	return slices.MinFunc(alike, func(a, b solution) int {
		return cmp.Or(cmp.Compare(len(a.actions), len(b.actions)), cmp.Compare(a.filters(), b.filters()), cmp.Compare(a.gains(), b.gains()))
	})
}

func (x solution) filters() (n int) {
	for _, a := range x.actions {
		if a.isFilter {
			n++
		}
	}
	return n
}

// gains returns the sum of the gains' squares.
func (x solution) gains() (sum float64) {
	for _, a := range x.actions {
		g := a.gainDB + a.filter.GainDB
		sum += g * g
	}
	return sum
}

func (s *search) nothing() solution {
	res := make([]float64, len(s.mix))
	s.residuals(nil, res)
	return solution{nil, s.size(res), s.leaves(make([]float64, spectrum.BandCount))}
}

// grow adds actions one by one. When several faders are off, no single one need be worth much before
// the others are found. So the search continues as long as the cells are not explained, and prune
// drops at the end what was not worth it.
func (s *search) grow(now solution) solution {
	for len(now.actions) < mostActions {
		next, ok := s.best(now.actions)
		if !ok || next.cellDB > betterShare*now.cellDB || now.cellDB < explainedDB {
			break
		}
		now = s.exchange(next)
	}
	return now
}

// exchange removes each action in turn and searches for a better one in its place.
func (s *search) exchange(now solution) solution {
	for range 2 {
		changed := false
		for i := range now.actions {
			if len(now.actions) == 1 {
				return now
			}
			others := slices.Delete(slices.Clone(now.actions), i, i+1)
			next, ok := s.best(others)
			simpler := ok && now.actions[i].isFilter && !next.actions[len(next.actions)-1].isFilter
			if ok && (next.cellDB < betterShare*now.cellDB || simpler && next.cellDB < alikeShare*now.cellDB+0.01) {
				now, changed = next, true
				break
			}
		}
		if !changed {
			break
		}
	}
	return now
}

// prune drops actions that are not worth it, the least useful first.
func (s *search) prune(now solution) solution {
	for len(now.actions) > 0 {
		var best solution
		for i := range now.actions {
			others := slices.Delete(slices.Clone(now.actions), i, i+1)
			next := s.refine(others)
			if i == 0 || next.leftDB < best.leftDB {
				best = next
			}
		}
		if best.leftDB >= now.leftDB+WorthDB {
			break
		}
		now = best
	}
	return now
}
