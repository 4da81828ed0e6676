package tracks

import (
	"math"
	"slices"

	"toneplumb/spectrum"
)

// search looks for the fewest actions that make the mix what a copy of it is, moment by
// moment.
type search struct {
	*session
	*cells
}

const (
	mostFaderDB = 12.0 // either way; our choice: more is another arrangement
	mostActions = 6    // our choice: beyond, nothing is a plan
	worthDB     = 0.15 // by which each must bring the distance down, as match.moveDB has it
	betterShare = 0.95 // of what the cells leave, which each must bring it down to
	outlierDB   = 1.0  // beyond it a cell counts by its size, not its square (P. J. Huber 1964, from memory); our choice
	alikeShare  = 1.1  // a simpler action may leave so much more than the best; our choice
	priceDB2    = 1e-4 // of 6 dB, against the mean square of what is left: settles what the cells do not
	priceOfDB   = 6.0
	tried       = 4   // of each kind, by the linear estimate
	explainedDB = 0.1 // rms of cells that a plain sum comes down to; measured on songs
)

// solution is some actions with what they leave.
type solution struct {
	actions []action
	cellDB  float64 // rms over the cells, outliers held
	leftDB  float64 // of the distance
}

// best returns the best solution with one action more: of those that leave about as little
// as the best the simplest, see kind.
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

// run returns the fewest actions that are worth it. Of several faders together none need be
// worth much before the others are found, so the search goes on as long as the cells are
// not explained, and what was not worth it is dropped at the end.
func (s *search) run() (now solution) {
	res := make([]float64, len(s.mix))
	s.residuals(nil, res)
	now = solution{nil, s.size(res), s.leaves(make([]float64, spectrum.BandCount))}
	for len(now.actions) < mostActions {
		next, ok := s.best(now.actions)
		if !ok || next.cellDB > betterShare*now.cellDB || now.cellDB < explainedDB {
			break
		}
		now = s.exchange(next)
	}
	return s.prune(now)
}

// exchange takes each action back in turn and looks for a better one in its place.
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

// prune drops what is not worth it, the least first.
func (s *search) prune(now solution) solution {
	for len(now.actions) > 0 {
		var best solution
		for i := range now.actions {
			others := slices.Delete(slices.Clone(now.actions), i, i+1)
			next := solution{leftDB: s.leaves(make([]float64, spectrum.BandCount))}
			if len(others) > 0 {
				next = s.refine(others)
			}
			if i == 0 || next.leftDB < best.leftDB {
				best = next
			}
		}
		if best.leftDB >= now.leftDB+worthDB {
			break
		}
		now = best
	}
	return now
}
