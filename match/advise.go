package match

import (
	"toneplumb/biquad"
	"toneplumb/biquad/fit"
)

// Advice finds the moves of a comparison number by number, so that who asks again for
// another number goes on where the search was. It holds scratch memory: one goroutine
// at a time.
type Advice struct {
	comparison *Comparison
	options    SolveOptions
	target     *target

	problem fit.Problem
	search  *fit.Searcher
	sets    []fit.Solution // the answer for up to so many moves, the index
	enough  bool           // with the last of sets
}

// Advise begins to look for moves; Options.MaxMoves is left to Result. It panics if an
// option fails its Check.
func (c *Comparison) Advise(o SolveOptions) *Advice {
	if err := o.Check(); err != nil {
		panic("match: " + err.Error())
	}
	return &Advice{comparison: c, options: o, target: c.target()}
}

// Result is what Comparison.Solve returns for at most so many moves, 0 to MaxMoves.
func (a *Advice) Result(maxMoves int) *Result {
	o := a.options
	o.MaxMoves = maxMoves
	if err := o.Check(); err != nil {
		panic("match: " + err.Error())
	}
	if maxMoves == 0 || o.TowardPercent == 0 || a.comparison.spread(a.comparison.DifferenceDB) < inaudibleDB {
		return a.comparison.with(nil, a.target, o)
	}
	return a.comparison.with(a.moves(maxMoves), a.target, o)
}

// moves returns the fewest moves that come near enough to the target, as far as it is
// to be followed.
func (a *Advice) moves(most int) []biquad.Filter {
	if a.search == nil {
		a.problem = a.comparison.problem(a.target, a.options)
		a.search = fit.Begin(a.problem)
	}
	if a.options.ExactMoves {
		return turned(a.settled(fit.Search(a.problem, most)[most]).Filters, a.problem.Equaliser)
	}
	for !a.enough && len(a.sets) <= most {
		count := len(a.sets)
		if count == 0 {
			a.sets = append(a.sets, a.settled(a.search.Without()))
		} else {
			best := a.sets[count-1]
			if s := a.settled(a.search.Next()); s.ResidualDB < best.ResidualDB && a.comparison.told(s.Filters, a.target, a.options) && a.comparison.nearer(s.Filters) {
				best = s
			}
			a.sets = append(a.sets, best)
		}
		best := a.sets[count]
		a.enough = best.ResidualDB <= a.target.enoughDB(len(best.Filters))
	}
	best := a.sets[min(most, len(a.sets)-1)]
	return turned(best.Filters, a.problem.Equaliser)
}

// settled puts a solution on the dials.
func (a *Advice) settled(s fit.Solution) fit.Solution {
	if !a.options.Continuous {
		s = fit.Round(a.problem, s)
	}
	return withoutIdle(a.problem, s)
}
