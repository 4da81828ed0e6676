package match

import (
	"math"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
)

// Advice finds the moves of a comparison number by number, so that who asks again for
// another number goes on where the search was. It holds scratch memory: one goroutine
// at a time.
//
// How the moves are found: the search takes the whole target, however much of it is
// wanted; then the gains are scaled to what is wanted and set on the dials. So going
// 60 % of the way never has moves where going all of it has none.
type Advice struct {
	comparison *Comparison
	options    SolveOptions
	target     *target

	search  *fit.Searcher
	whole   []fit.Solution // of the whole target, not yet on dials; the index is the number of moves
	dialled map[int][]biquad.Filter
}

// Advise begins to look for moves; Options.MaxMoves is left to Result. It panics if an
// option fails its Check.
func (c *Comparison) Advise(o SolveOptions) *Advice {
	if err := o.Check(); err != nil {
		panic("match: " + err.Error())
	}
	return &Advice{comparison: c, options: o, target: c.target(o.Stage), dialled: map[int][]biquad.Filter{}}
}

// Result is what Comparison.Solve returns for at most so many moves, 0 to MaxMoves.
func (a *Advice) Result(maxMoves int) *Result {
	o := a.options
	o.MaxMoves = maxMoves
	if err := o.Check(); err != nil {
		panic("match: " + err.Error())
	}
	outlook := a.outlook(maxMoves)
	var filters []biquad.Filter
	if outlook == Advised {
		if filters = a.moves(maxMoves); len(filters) == 0 {
			outlook = NoneHelps
		}
	}
	return a.comparison.with(filters, a.target, o, outlook)
}

// share is the part of the target that is wanted.
func (a *Advice) share() float64 { return a.options.TowardPercent / 100 }

// moves returns the fewest moves that come near enough to the target, as far as it is
// to be followed.
func (a *Advice) moves(most int) []biquad.Filter {
	if a.options.ExactMoves {
		return a.dial(fit.Search(a.problem(1), most)[most])
	}
	for count := a.enough(most); count > 0; count-- {
		filters, found := a.dialled[count]
		if !found {
			filters = a.dial(a.whole[count])
			if !a.target.exact && !a.earnsItsPlace(filters) {
				filters = nil
			}
			a.dialled[count] = filters
		}
		if filters != nil {
			return filters
		}
	}
	return nil
}

// enough returns the number of moves, up to most, at which the rest and what the moves
// must be worth are smallest together.
func (a *Advice) enough(most int) int {
	if a.search == nil {
		a.search = fit.Begin(a.problem(1))
		a.whole = []fit.Solution{a.search.Without()}
	}
	near := a.target.nothingDB
	for len(a.whole) <= most && !(a.target.exact && a.whole[len(a.whole)-1].ResidualDB <= near) {
		a.whole = append(a.whole, a.search.Next())
	}
	best, least := 0, math.Inf(1)
	for count, s := range a.whole[:min(most+1, len(a.whole))] {
		if cost := s.ResidualDB + float64(count)*a.target.moveDB; cost < least-1e-9 {
			best, least = count, cost
		}
	}
	return best
}

// dial sets the gains to the share that is wanted and everything on the dials.
func (a *Advice) dial(s fit.Solution) []biquad.Filter {
	p := a.problem(a.share())
	s.Filters = fit.Scaled(s.Filters, a.share())
	if !a.options.Continuous {
		s = fit.Round(p, s)
	}
	return turned(withoutIdle(s.Filters), p.Equaliser)
}

// earnsItsPlace reports whether moves on the dials may be advised.
func (a *Advice) earnsItsPlace(filters []biquad.Filter) bool {
	c := a.comparison
	return len(filters) > 0 && c.dialable(filters) && c.worthDB(filters, a.share()) >= a.share()*a.target.moveDB &&
		c.nearer(filters) && !c.againstZones(filters) && c.gainsSignificant(filters, a.target, a.options)
}

// problem states what the fit is to do for a share of the target.
func (a *Advice) problem(share float64) fit.Problem {
	c, o := a.comparison, a.options
	p := c.problem(a.target, o)
	for b := range p.TargetDB {
		p.TargetDB[b] *= share
	}
	if share == 1 && o.TowardPercent < 100 {
		p.Equaliser = p.Equaliser.Louder(100 / o.TowardPercent)
	}
	if !a.target.exact {
		p.Allow = c.dialable
	}
	return p
}
