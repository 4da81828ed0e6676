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
	dialled map[dialling][]biquad.Filter
}

// dialling is a number of moves set on the dials for a share of the target.
type dialling struct {
	count int
	share float64
}

// Advise begins to look for moves; Options.MaxMoves is left to Result. It panics if an
// option fails its Check.
func (c *Comparison) Advise(o SolveOptions) *Advice {
	if err := o.Check(); err != nil {
		panic("match: " + err.Error())
	}
	return &Advice{comparison: c, options: o, target: c.target(o.Stage), dialled: map[dialling][]biquad.Filter{}}
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
	r := a.comparison.with(filters, a.target, o, outlook)
	for count := 1; count < len(filters) && count < len(a.whole); count++ {
		r.StepsDB = append(r.StepsDB, a.comparison.distanceAfter(a.dial(a.whole[count], a.share())))
	}
	if len(filters) > 0 {
		r.StepsDB = append(r.StepsDB, r.DistanceAfterDB)
	}
	return r
}

// share is the part of the target that is wanted.
func (a *Advice) share() float64 { return a.options.TowardPercent / 100 }

// moves returns the fewest moves that come near enough to the target, as far as it is
// to be followed.
func (a *Advice) moves(most int) []biquad.Filter {
	if a.options.ExactMoves {
		return a.dial(fit.Search(a.searched(), most)[most], a.share())
	}
	for _, share := range a.shares() {
		for count := a.enough(most); count > 0; count-- {
			if filters := a.accepted(count, share); filters != nil {
				return filters
			}
		}
	}
	return nil
}

// shares are the parts of the target that are tried: the one that is wanted, and where
// no moves may be advised for that, the default, which demands less of them.
func (a *Advice) shares() []float64 {
	wanted, less := a.share(), defaultTowardPercent/100
	if wanted <= less || a.target.exact {
		return []float64{wanted}
	}
	return []float64{wanted, less}
}

// accepted returns the moves of a number on the dials, nil if they may not be advised.
func (a *Advice) accepted(count int, share float64) []biquad.Filter {
	key := dialling{count, share}
	filters, found := a.dialled[key]
	if !found {
		filters = a.dial(a.whole[count], share)
		if !a.target.exact && !a.earnsItsPlace(filters, share) {
			filters = nil
		}
		a.dialled[key] = filters
	}
	return filters
}

// enough returns the number of moves, up to most, at which the rest and what the moves
// must be worth are smallest together.
func (a *Advice) enough(most int) int {
	if a.search == nil {
		a.search = fit.Begin(a.searched())
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

// dial scales the gains to a share and sets everything on the dials.
func (a *Advice) dial(s fit.Solution, share float64) []biquad.Filter {
	p := a.problem(share)
	s.Filters = fit.Scaled(s.Filters, share)
	if !a.options.Continuous {
		s = fit.Round(p, s)
	}
	return conventionalShelves(withoutIdle(s.Filters), p.Equaliser)
}

// earnsItsPlace reports whether moves on the dials may be advised.
func (a *Advice) earnsItsPlace(filters []biquad.Filter, share float64) bool {
	c := a.comparison
	return len(filters) > 0 && c.dialable(filters) && c.worthDB(filters, share) >= share*a.target.moveDB &&
		c.reducesDistance(filters) && !c.againstZones(filters, share) && c.gainsSignificant(filters, a.target, a.options)
}

// problem states what the fit is to do for a share of the target.
func (a *Advice) problem(share float64) fit.Problem {
	c := a.comparison
	p := c.problem(a.target, a.options)
	for b := range p.TargetDB {
		p.TargetDB[b] *= share
	}
	if a.target.exact {
		return p
	}
	p.Allow = c.dialable
	return p
}

// searched is the problem of the whole target, on an equaliser that reaches farther than
// the one at hand: what is found is scaled down by the share that is wanted, and must be
// the same whatever that is.
func (a *Advice) searched() fit.Problem {
	p := a.problem(1)
	toward := defaultTowardPercent
	if a.target.exact { // a copy is followed to the end of the dials
		toward = a.options.TowardPercent
	}
	p.Equaliser = p.Equaliser.Louder(100 / toward)
	return p
}
