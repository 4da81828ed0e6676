package match

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
)

// Advice finds the moves of a [Comparison] for one set of [SolveOptions]. It keeps what the
// search found, so asking for another number of moves continues the search instead of
// starting again. It holds scratch memory: one goroutine at a time.
//
// The search always follows the whole target, whatever share of it is wanted. The gains are
// then scaled to that share and rounded to the dials' steps. So 60 % of the way never has
// moves where the whole way has none.
type Advice struct {
	comparison *Comparison
	options    SolveOptions
	target     *target

	search    *fit.Searcher
	solutions []fit.Solution          // follow the whole target, before rounding; the index is the number of moves
	dialled   map[int][]biquad.Filter // by the number of moves
	less      *Advice                 // as measured for the usual share, if more is wanted
	freer     *Advice                 // lenient, where this one finds nothing on a described equaliser
	lenient   bool                    // moves may shift a zone against its difference
}

// Advise returns an [Advice] that has searched nothing yet; [Advice.Result] replaces o.MaxMoves.
// It panics if [SolveOptions.Check] fails.
func (c *Comparison) Advise(o SolveOptions) *Advice {
	if err := o.Check(); err != nil {
		panic("match: " + err.Error())
	}
	a := &Advice{comparison: c, options: o, target: c.target(o.Stage), dialled: map[int][]biquad.Filter{}}
	if o.Stage == AsMeasured && !a.target.exact && o.TowardPercent > defaultTowardPercent {
		o.TowardPercent = defaultTowardPercent
		a.less = c.Advise(o)
	}
	return a
}

// Result returns what [Comparison.Solve] does for at most maxMoves moves, 0 to [MaxMoves]; it
// panics outside that.
func (a *Advice) Result(maxMoves int) *Result {
	o := a.options
	o.MaxMoves = maxMoves
	if err := o.Check(); err != nil {
		panic("match: " + err.Error())
	}
	outlook := a.outlook(maxMoves)
	var found advised
	if outlook == Advised {
		if found = a.moves(maxMoves); len(found.filters) == 0 {
			outlook = NoneHelps
		}
	}
	filters := found.filters
	r := a.comparison.with(filters, a.target, o, outlook)
	for count := 1; count < len(filters) && count < len(found.steps); count++ {
		r.StepsDB = append(r.StepsDB, a.comparison.distanceAfter(found.by.dial(found.steps[count])))
	}
	if len(filters) > 0 {
		r.StepsDB = append(r.StepsDB, r.DistanceAfterDB)
	}
	return r
}

// share returns the wanted part of the target, 0 to 1.
func (a *Advice) share() float64 { return a.options.TowardPercent / 100 }

// advised is a set of moves, nil if none may be advised, and the solutions of 0, 1, 2, … moves by the
// search that found it.
type advised struct {
	filters []biquad.Filter
	steps   []fit.Solution
	by      *Advice
}

// moves returns the moves to advise, at most that many.
func (a *Advice) moves(most int) advised {
	if a.options.ExactMoves {
		all := fit.Search(a.wholeProblem(), most)
		return advised{a.dial(all[most]), all, a}
	}
	var found advised
	for count := a.bestCount(most); count > 0 && found.filters == nil; count-- {
		found = advised{a.advisable(count), a.solutions, a}
	}
	if found.filters == nil && a.options.Equaliser.Offers() && a.options.Stage != Finished && !a.lenient {
		// A few filters have no way round: a high shelf alone lowers all below it, level ignored.
		if a.freer == nil {
			a.freer = a.comparison.Advise(a.options)
			a.freer.lenient = true
		}
		found = a.freer.moves(most)
	}
	if a.less == nil {
		return found
	}
	// Where the dials' gains end, the search moves filters together until the rules refuse them. What was
	// found for less of the way then comes nearer.
	other, after := a.less.moves(most), a.comparison.distanceAfter
	if a.earnsItsPlace(other.filters) && (found.filters == nil || after(other.filters) < after(found.filters)) {
		return other
	}
	return found
}

// advisable returns the solution of count moves on the dials, nil if it may not be advised.
func (a *Advice) advisable(count int) []biquad.Filter {
	filters, found := a.dialled[count]
	if !found {
		filters = a.dial(a.solutions[count])
		if a.tooSmall(filters, a.share()) || !a.target.exact && !a.earnsItsPlace(filters) {
			filters = nil
		}
		a.dialled[count] = filters
	}
	return filters
}

// bestCount returns the number of moves, up to most, that minimises the residual plus what each
// move must be worth.
func (a *Advice) bestCount(most int) int {
	if a.search == nil {
		a.search = fit.Begin(a.wholeProblem())
		a.solutions = []fit.Solution{a.search.Without()}
	}
	near, worth := a.target.nothingDB, a.target.moveDB
	if a.target.exact { // what is not wanted of the difference hides what a small move adds
		worth += (moveDB - copyEnoughDB) * (1 - a.share()) / (1 - defaultTowardPercent/100)
	}
	for len(a.solutions) <= most && !(a.target.exact && a.solutions[len(a.solutions)-1].ResidualDB <= near) {
		a.solutions = append(a.solutions, a.search.Next())
	}
	best, least := 0, math.Inf(1)
	for count, s := range a.solutions[:min(most+1, len(a.solutions))] {
		if cost := s.ResidualDB + float64(count)*worth; cost < least-1e-9 {
			best, least = count, cost
		}
	}
	return best
}

// dial scales a solution's gains to the wanted share of the target and rounds it to the dials' steps.
func (a *Advice) dial(s fit.Solution) []biquad.Filter {
	p := a.problem(a.share(), dialStepOct)
	s.Filters = fit.Scaled(s.Filters, a.share())
	if !a.options.Continuous {
		s = fit.Round(p, s)
	}
	return conventionalShelves(withoutIdle(s.Filters), p.Equaliser)
}

// earnsItsPlace reports whether moves on the dials may be advised. They must be moves an
// engineer would dial, bring the mix nearer, and have gains that clearly differ from 0 dB.
func (a *Advice) earnsItsPlace(filters []biquad.Filter) bool {
	c, share := a.comparison, a.share()
	return len(filters) > 0 && a.allowed(filters, share, dialStepOct) &&
		c.worthDB(filters, share) >= share*a.target.moveDB && c.reducesDistance(filters, share)
}

// allowed reports whether no rule forbids the moves. A bell may reach past the judged range by
// slackOct octaves.
func (a *Advice) allowed(filters []biquad.Filter, share, slackOct float64) bool {
	c, stage := a.comparison, a.options.Stage
	return c.dialable(filters, a.options.Dials(), slackOct) && (a.lenient || !c.againstZones(filters, share, stage)) && c.gainsSignificant(filters, a.target, a.options)
}

// problem returns the fit to a share of the target, with the rules of [Advice.allowed] and its
// slackOct. The search knows them, so that it finds other moves in place of those they forbid.
func (a *Advice) problem(share, slackOct float64) fit.Problem {
	c := a.comparison
	p := c.problem(a.target, a.options)
	floats.Scale(share, p.TargetDB)
	p.LeastGainDB = a.leastDB(share)
	p.Allow = func(filters []biquad.Filter) bool {
		switch {
		case a.tooSmall(filters, share):
			return false
		case a.target.exact && p.LeastGainDB == 0: // any moves but two of one kind in one place, whose gains mean nothing apart
			return !repeating(filters)
		case a.target.exact: // large gains that work against each other would follow small differences
			return c.dialable(filters, a.options.Dials(), slackOct)
		}
		return a.allowed(filters, share, slackOct)
	}
	return p
}

// leastDB returns the smallest gain that is wanted of moves that follow a share of the target. Those that
// follow more than the wanted share, as the search's do, must be large enough when scaled down to it.
func (a *Advice) leastDB(share float64) float64 {
	return a.options.LeastDB * max(1, share/max(a.share(), 0.01)) // at 0 % there are no moves
}

// tooSmall reports whether a gain is below the smallest that is wanted.
func (a *Advice) tooSmall(filters []biquad.Filter, share float64) bool {
	const rounded = 1e-9 // of a gain on a dial
	least := a.leastDB(share) - rounded
	return slices.ContainsFunc(filters, func(f biquad.Filter) bool { return math.Abs(f.GainDB) < least })
}

// wholeProblem returns the fit to the whole target. Its gain limits are widened, since what is
// found is scaled down to the share afterwards. The default share widens them, so that the
// search finds the same moves whatever share is wanted, unless a least gain is. A copy, and a reference that is followed
// as measured, are followed to the limits of the dials.
func (a *Advice) wholeProblem() fit.Problem {
	p := a.problem(1, 0)
	toward := defaultTowardPercent
	if a.target.exact || a.options.Stage == AsMeasured {
		toward = a.options.TowardPercent
	}
	p.Equaliser = p.Equaliser.Louder(100 / toward)
	return p
}
