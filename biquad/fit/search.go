package fit

import (
	"cmp"
	"math"
	"slices"

	"toneplumb/biquad"
)

// effort says how wide and how deep a search is.
type effort struct {
	width     int     // sets followed by the beam search
	starts    int     // how many of them are starts of a descent
	kept      int     // fitted sets carried from one number of moves to the next
	tried     int     // moves tried in addition to each of them
	exchanged int     // moves tried in place of each move of the best set
	rounds    int     // of exchanges, as long as they help
	coarse    int     // steps of descent, on the thinned model, for every set
	halved    int     // sets left after those
	full      int     // steps of descent at most for the kept sets
	enough    float64 // a step that lowers the cost by a smaller fraction ends the descent
}

// usual is the effort of [Search]. Our choice, from trials: the wider search of
// wide_test.go hardly fits the curves of real songs better (table in ../README.md, "Search").
var usual = effort{
	width: 300, starts: 100, kept: 3, tried: 4, exchanged: 2, rounds: 2,
	coarse: 6, halved: 30, full: 40, enough: 1e-5,
}

// Search returns the best solution found for each number of moves from 0 to
// maxMoves; the index is the number. Settings lie anywhere inside the ranges of the
// equaliser, frequencies at most at 0.45 of the sample rate, those of bells at most at
// 12 kHz. The residual never rises with the number of moves: if the equaliser has no
// further filter, or none that helps, the solution with one move less is repeated.
// Search panics if the problem is incomplete.
//
// For each number of moves the search starts from two kinds of sets: those that the
// linear model ranks best on a grid of moves, and the best sets of one move less with one
// more joined. All are fitted by descent, most of them for a few steps only. At the end
// each move of the best set is exchanged for others.
func Search(p Problem, maxMoves int) []Solution { return usual.search(p, maxMoves) }

func (e effort) search(p Problem, maxMoves int) []Solution {
	s := newSearcher(&p, e)
	solutions := []Solution{s.best}
	for range maxMoves {
		solutions = append(solutions, s.Next())
	}
	return solutions
}

// Begin starts a search that finds the solutions of [Search] one at a time, so that a
// caller who needs fewer moves does not spend time on more. It panics if the problem is
// incomplete.
func Begin(p Problem) *Searcher { return newSearcher(&p, usual) }

// Searcher is a search under way, see [Begin]. It holds scratch memory, so it serves one
// goroutine.
type Searcher struct {
	*model
	effort
	thin    *model // of fewer bands, to sort out bad sets quickly
	atoms   []atom
	lattice *beam

	front []moveSet // the best sets of the last number of moves
	best  Solution
}

// Without returns the solution with no moves.
func (s *Searcher) Without() Solution { return s.solution(nil) }

// Next returns the best solution found with one move more than the call before; the
// first call returns that with one.
func (s *Searcher) Next() Solution {
	s.lattice.grow(s.width)
	sets := s.lattice.starts(s.starts)
	for _, c := range s.front {
		sets = append(sets, s.extended(c.moves, s.tried)...)
	}
	if sets = s.refine(sets); len(sets) > 0 {
		s.front = s.exchange(sets)
		better := s.solution(filters(s.conventional(s.front[0].moves)))
		if better.ResidualDB < s.best.ResidualDB {
			s.best = better
		}
	}
	return s.best
}

func newSearcher(p *Problem, e effort) *Searcher {
	p.check()
	s := &Searcher{model: newModel(p), effort: e, front: []moveSet{{}}}
	s.best = s.Without()
	s.thin = newModel(s.thinned())
	s.atoms = s.model.dictionary()
	s.lattice = s.newBeam(s.atoms)
	return s
}

// thinned returns the problem at every third judged band, not smoothed.
func (m *model) thinned() *Problem {
	const every = 3 // our choice: a quarter octave between points a twelfth apart
	p := *m.p
	p.Smoother, p.FreqHz, p.TargetDB, p.Weight = nil, nil, nil, nil
	for i := range m.judged {
		if i%every == every/2 || len(m.judged) < every {
			band := m.judged[i]
			p.FreqHz = append(p.FreqHz, m.p.FreqHz[band])
			p.TargetDB = append(p.TargetDB, m.p.TargetDB[band])
			p.Weight = append(p.Weight, m.p.Weight[band])
		}
	}
	return &p
}

// extended returns moves with one more, in up to n ways.
func (s *Searcher) extended(moves []move, n int) []moveSet {
	var sets []moveSet
	for _, o := range s.propose(s.atoms, moves, n) {
		mv := s.atoms[o.index].move
		mv.at[biquad.ByGainDB] = o.gain
		sets = append(sets, moveSet{moves: append(slices.Clone(moves), mv)})
	}
	return sets
}

// refine descends from each of the sets and returns the best, best first. A few steps
// on fewer bands sort out most of the bad ones.
func (s *Searcher) refine(sets []moveSet) []moveSet {
	const few = 3
	for i := range sets {
		s.thin.descend(&sets[i], s.coarse, 1e-3)
	}
	sets = ranked(sets, s.halved)
	for i := range sets {
		s.descend(&sets[i], few, s.enough)
	}
	sets = ranked(slices.DeleteFunc(sets, s.forbidden), s.kept)
	for i := range sets {
		before := moveSet{slices.Clone(sets[i].moves), sets[i].cost}
		if s.descend(&sets[i], s.full, s.enough); s.forbidden(sets[i]) {
			sets[i] = before // it walked out of what is allowed
		}
	}
	return ranked(sets, s.kept)
}

// forbidden reports whether Problem.Allow refuses a set.
func (s *Searcher) forbidden(c moveSet) bool {
	if s.p.Allow == nil {
		return false
	}
	offered := filters(s.conventional(c.moves))
	slices.SortStableFunc(offered, byFrequency)
	return !s.p.Allow(offered)
}

// exchange takes each move of the best set out in turn and tries others in its place. It
// repeats that as long as it helps, and returns the best sets, best first.
func (s *Searcher) exchange(sets []moveSet) []moveSet {
	const helps = 1e-3 // of the cost
	for range s.rounds {
		top := sets[0]
		var found []moveSet
		for i := range top.moves {
			rest := slices.Delete(slices.Clone(top.moves), i, i+1)
			found = append(found, s.extended(rest, s.exchanged)...)
		}
		sets = ranked(append(sets, s.refine(found)...), s.kept)
		if sets[0].cost >= top.cost*(1-helps) {
			break
		}
	}
	return sets
}

// Differences in ln f. Our choice: starts a little over half an octave apart are worth a
// descent each; sets within a twentieth of an octave are heading for the same place.
const (
	startDistance = 0.51 * math.Ln2
	sameDistance  = 0.05 * math.Ln2
)

// ranked returns the n best sets, best first, without those that resemble a better one.
func ranked(sets []moveSet, n int) []moveSet {
	slices.SortStableFunc(sets, func(a, b moveSet) int { return cmp.Compare(a.cost, b.cost) })
	var best []moveSet
	for _, c := range sets {
		if len(best) == n {
			break
		}
		if !c.isLikeOneOf(best, sameDistance) {
			best = append(best, c)
		}
	}
	return best
}

// isLikeOneOf reports whether c is alike to one of sets.
func (c *moveSet) isLikeOneOf(sets []moveSet, distance float64) bool {
	return slices.ContainsFunc(sets, func(other moveSet) bool { return alike(c.moves, other.moves, distance) })
}

// alike reports whether two sets of equally many moves have the same kinds of moves, each
// within a distance in ln f of its partner.
func alike(a, b []move, distance float64) bool {
	taken := make([]bool, len(b))
	partner := func(mv *move) bool {
		for j := range b {
			apart := math.Abs(mv.at[biquad.ByLnFreq] - b[j].at[biquad.ByLnFreq])
			if !taken[j] && apart <= distance && mv.kind() == b[j].kind() {
				taken[j] = true
				return true
			}
		}
		return false
	}
	for i := range a {
		if !partner(&a[i]) {
			return false
		}
	}
	return true
}

// conventional returns moves with the shelves as people set them: the low shelf below
// the high shelf; a single shelf as a low shelf in the lower half of the judged range
// and as a high shelf in the upper half. The exchange is free, since a low shelf and a
// high shelf of opposite gain differ by a constant only. If the equaliser's ranges forbid
// it, the moves are returned unchanged.
func (m *model) conventional(moves []move) []move {
	swapped := slices.Clone(moves)
	var shelves []*move
	for i := range swapped {
		if swapped[i].shape != biquad.Bell {
			shelves = append(shelves, &swapped[i])
		}
	}
	if len(shelves) == 0 {
		return moves
	}
	first, last := m.p.FreqHz[m.judged[0]], m.p.FreqHz[m.judged[len(m.judged)-1]]
	border := math.Log(first*last) / 2
	if len(shelves) == 2 {
		border = shelves[1].at[biquad.ByLnFreq]
	}
	if (shelves[0].shape == biquad.LowShelf) == (shelves[0].at[biquad.ByLnFreq] < border) {
		return moves
	}
	for _, s := range shelves {
		s.shape = biquad.LowShelf + biquad.HighShelf - s.shape
		s.at[biquad.ByGainDB] *= -1
		if m.limits[s.shape].Count == 0 || m.boxes[s.shape].clamp(s.at) != s.at {
			return moves
		}
	}
	return swapped
}

func filters(moves []move) []biquad.Filter {
	all := make([]biquad.Filter, len(moves))
	for i := range moves {
		all[i] = moves[i].filter()
	}
	return all
}
