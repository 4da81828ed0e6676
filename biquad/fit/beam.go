package fit

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
)

// beam is a beam search over sets of atoms with the linear model alone: an atom's
// effect is taken as proportional to its gain. A set then costs a few sums of inner
// products instead of a descent, and hundreds of sets can be followed at once.
type beam struct {
	atoms  []atom
	gram   []float64 // inner products of the atoms, n×n
	slope  []float64 // inner products with the residual of no moves
	zero   float64   // the cost of no moves
	counts [len(shapes)]int
	front  []atomSet // best first
	cells  int
	best   []candidate // scratch of partners, by cell
}

// atomSet is a set of atoms with their gains and its cost in the linear model.
type atomSet struct {
	atoms []int
	gain  []float64
	cost  float64
}

// How many sets grow looks at. Our choice, from trials on the curves of songs_test.go.
const (
	joinedFew    = 12   // atoms joined to each set of a full front
	joinedMany   = 4000 // sets made from a front that is not yet full
	exchangedOf  = 40   // sets of which atoms are exchanged
	exchangedFor = 6    // atoms tried for each
)

func (m *model) newBeam(atoms []atom) *beam {
	n := len(atoms)
	l := &beam{atoms: atoms, gram: make([]float64, n*n), slope: make([]float64, n), zero: m.cost(nil)}
	for i := range atoms {
		l.slope[i] = floats.Dot(atoms[i].perDB, m.residual)
		for j := range i + 1 {
			g := floats.Dot(atoms[i].perDB, atoms[j].perDB)
			l.gram[i*n+j], l.gram[j*n+i] = g, g
		}
		l.cells = max(l.cells, int(atoms[i].cell(1))+1, int(atoms[i].cell(-1))+1)
	}
	for _, shape := range shapes {
		l.counts[shape] = m.limits[shape].Count
	}
	l.front = []atomSet{{cost: l.zero}}
	l.best = make([]candidate, l.cells)
	return l
}

// grow replaces the front by the best sets found with one atom more, at most width of
// them and no two with the same key. It joins one atom to each set of the front, then
// exchanges one atom in the best results. The front becomes empty when no set can grow.
func (l *beam) grow(width int) {
	if len(l.front) == 0 {
		return
	}
	var next []atomSet
	joined := max(joinedFew, joinedMany/len(l.front))
	for _, s := range l.front {
		next = l.join(next, s, joined)
	}
	next = l.distinct(next, width)
	for _, s := range next[:min(exchangedOf, len(next))] {
		for i := range s.atoms {
			rest := atomSet{
				atoms: slices.Delete(slices.Clone(s.atoms), i, i+1),
				gain:  slices.Delete(slices.Clone(s.gain), i, i+1),
			}
			l.coordinateDescent(&rest)
			next = l.join(next, rest, exchangedFor)
		}
	}
	l.front = l.distinct(next, width)
}

// join appends s with each of its n best partners to sets.
func (l *beam) join(sets []atomSet, s atomSet, n int) []atomSet {
	for _, o := range l.partners(s, n) {
		t := atomSet{atoms: append(slices.Clone(s.atoms), o.index), gain: append(slices.Clone(s.gain), 0)}
		l.coordinateDescent(&t)
		sets = append(sets, t)
	}
	return sets
}

// distinct returns the n best sets, best first, one per key.
func (l *beam) distinct(sets []atomSet, n int) []atomSet {
	slices.SortStableFunc(sets, func(a, b atomSet) int { return cmp.Compare(a.cost, b.cost) })
	seen := map[[maxKey]uint16]bool{}
	var best []atomSet
	for _, s := range sets {
		if len(best) == n {
			break
		}
		if key := l.key(s); !seen[key] {
			seen[key] = true
			best = append(best, s)
		}
	}
	return best
}

// partners returns the n atoms that lower the cost of s most, its own gains refitted,
// best first, one per cell.
func (l *beam) partners(s atomSet, n int) []candidate {
	atoms, k := len(l.atoms), len(s.atoms)
	var used [len(shapes)]int
	factor := make([]float64, k*k)
	for a, i := range s.atoms {
		used[l.atoms[i].shape]++
		for b, j := range s.atoms[:a+1] {
			factor[a*k+b] = l.gram[i*atoms+j]
		}
		factor[a*k+a] *= 1 + 1e-9 // two atoms may be equal but for rounding
	}
	cholesky(factor, k)
	clear(l.best)
	column := make([]float64, k)
	for j := range l.atoms {
		a := &l.atoms[j]
		if used[a.shape] >= l.counts[a.shape] || slices.Contains(s.atoms, j) {
			continue
		}
		row := l.gram[j*atoms : (j+1)*atoms]
		slope := l.slope[j]
		for b, i := range s.atoms {
			column[b] = row[i]
			slope += row[i] * s.gain[b]
		}
		forward(factor, column)
		curve := row[j] - floats.Dot(column, column)
		o := a.candidate(j, slope, curve, row[j])
		if b := &l.best[a.cell(o.gain)]; o.decrease > b.decrease {
			*b = o
		}
	}
	var partners []candidate
	for _, o := range l.best {
		if o.decrease > 0 {
			partners = append(partners, o)
		}
	}
	slices.SortStableFunc(partners, func(a, b candidate) int { return cmp.Compare(b.decrease, a.decrease) })
	return partners[:min(n, len(partners))]
}

// coordinateDescent sets the gains of s to the best values inside their ranges, one
// gain after the other until they settle, and then its cost.
func (l *beam) coordinateDescent(s *atomSet) {
	const rounds, settled = 12, 0.02 // settled in dB; coarse, since this only ranks: a descent follows
	n := len(l.atoms)
	for range rounds {
		var moved float64
		for a, i := range s.atoms {
			row := l.gram[i*n : (i+1)*n]
			pull := -l.slope[i]
			for b, j := range s.atoms {
				if b != a {
					pull -= row[j] * s.gain[b]
				}
			}
			gain := min(max(pull/row[i], l.atoms[i].low), l.atoms[i].high)
			moved = max(moved, math.Abs(gain-s.gain[a]))
			s.gain[a] = gain
		}
		if moved < settled {
			break
		}
	}
	s.cost = l.zero
	for a, i := range s.atoms {
		sum := 2 * l.slope[i]
		for b, j := range s.atoms {
			sum += l.gram[i*n+j] * s.gain[b]
		}
		s.cost += s.gain[a] * sum
	}
}

// maxKey is the length of a key. In larger sets several atoms are added into one place.
const maxKey = 8

// key identifies a set up to neighbouring atoms: the sorted cells of its atoms.
func (l *beam) key(s atomSet) (key [maxKey]uint16) {
	for i, a := range s.atoms {
		key[i%maxKey] += l.atoms[a].cell(s.gain[i])
	}
	slices.Sort(key[:])
	return key
}

// starts returns up to n sets of the front as moves, best first, without those that
// resemble a better one (isLikeOneOf).
func (l *beam) starts(n int) []moveSet {
	var chosen []moveSet
	for _, s := range l.front {
		if len(chosen) == n {
			break
		}
		c := moveSet{cost: s.cost}
		for i, a := range s.atoms {
			mv := l.atoms[a].move
			mv.at[biquad.ByGainDB] = s.gain[i]
			c.moves = append(c.moves, mv)
		}
		if !c.isLikeOneOf(chosen, startDistance) {
			chosen = append(chosen, c)
		}
	}
	return chosen
}
