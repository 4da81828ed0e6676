package tracks

import (
	"slices"

	"gonum.org/v1/gonum/floats"
)

// This file searches for several faders at once. If three are off, the single fader that leaves least
// is often none of them: three tracks that are too loud are nearly the others being too soft, since
// level does not count. So all faders are fitted together. Near that fit the cost is a quadratic
// form, in which every small set of faders can be tried:
//
//	cost(g) = least + (g − ĝ)ᵀA(g − ĝ)
//
// A set's cost is exact where it matters: the right set reaches ĝ up to what all faders have in
// common, and that changes no residual.

const (
	together = 4 // faders in a set that is searched for at once; our choice: a larger one grows from it
	// singularShare is how much of a fader must be something that the others of a set do not do.
	singularShare = 1e-6
)

// faderSets returns the best sets of one, two and more faders, each fitted together with some filters:
// a few of each size.
func (s *search) faderSets(filters []action) (sets []solution) {
	form, numbers := s.form(filters)
	for _, best := range form.bestSets(len(numbers)) {
		for _, set := range best {
			actions := slices.Clone(filters)
			for _, k := range set.of {
				actions = append(actions, action{track: numbers[k]})
			}
			sets = append(sets, s.refine(actions))
		}
	}
	return sets
}

// quadratic is a quadratic form A with b = A·ĝ.
type quadratic struct {
	a [][]float64
	b []float64
}

// form returns the cost near the fit of all faders together, with the parameters of filters
// fitted for each set; and the tracks and groups that its variables stand for.
func (s *search) form(filters []action) (q quadratic, numbers []int) {
	actions := slices.Clone(filters)
	for k := range s.tracks {
		if s.power[k] != nil {
			actions, numbers = append(actions, action{track: k}), append(numbers, k)
		}
	}
	x := parameters(s.refine(actions).actions)
	res := make([]float64, len(s.mix))
	s.residuals(s.with(actions, x), res)
	a, g := s.normal(actions, x, res, make([]float64, len(res)))
	n := len(x) - len(numbers) // the filters' parameters
	var rows [][]float64       // each variable as a sum of parameters
	for i := range x {
		row := make([]float64, len(x))
		row[i] = 1
		rows = append(rows, row)
	}
	for group := len(s.tracks); group < len(s.tracks)+len(s.groups); group++ {
		if members := s.members(group); len(members) > 1 {
			row := make([]float64, len(x))
			for _, k := range members {
				row[n+slices.Index(numbers, k)] = 1
			}
			rows, numbers = append(rows, row), append(numbers, group)
		}
	}
	times := make([]float64, len(x))
	for _, row := range rows {
		for j := range x {
			times[j] = 0
			for i, v := range row {
				times[j] += v * a.At(i, j)
			}
		}
		b := floats.Dot(times, x)
		for i, v := range row {
			b += v * g.AtVec(i)
		}
		line := make([]float64, len(rows))
		for j, other := range rows {
			line[j] = floats.Dot(times, other)
		}
		q.a, q.b = append(q.a, line), append(q.b, b)
	}
	var least []float64
	for i := range n {
		least = append(least, singularShare*q.a[i][i])
	}
	for _, l := range least {
		q = q.without(0, l)
	}
	return q, numbers
}

// without returns the form of the variables after k, with k fitted to them; k is dropped if its square
// is no more than least, which is rounding.
func (q quadratic) without(k int, least float64) (r quadratic) {
	for i := k + 1; i < len(q.b); i++ {
		f := 0.0
		if q.a[k][k] > least {
			f = q.a[i][k] / q.a[k][k]
		}
		line := slices.Clone(q.a[i][k+1:])
		floats.AddScaled(line, -f, q.a[k][k+1:])
		r.a, r.b = append(r.a, line), append(r.b, q.b[i]-f*q.b[k])
	}
	return r
}

// faderSet is a set of variables and by how much it reduces the cost.
type faderSet struct {
	of   []int
	drop float64
}

// bestSets returns for each number of variables the sets that reduce the cost most.
func (q quadratic) bestSets(variables int) [together][]faderSet {
	var best [together][]faderSet
	var whole []float64 // of each variable alone
	for i := range variables {
		whole = append(whole, q.a[i][i])
	}
	var search func(q quadratic, from int, have faderSet)
	search = func(q quadratic, from int, have faderSet) {
		for i, b := range q.b {
			if q.a[i][i] <= max(0, singularShare*whole[from+i]) {
				continue
			}
			next := faderSet{append(slices.Clone(have.of), from+i), have.drop + b*b/q.a[i][i]}
			of := &best[len(have.of)]
			at, _ := slices.BinarySearchFunc(*of, next, func(a, b faderSet) int {
				if a.drop >= b.drop {
					return -1
				}
				return 1
			})
			if at < tried {
				*of = slices.Insert(*of, at, next)
				*of = (*of)[:min(tried, len(*of))]
			}
			if len(next.of) < together {
				search(q.without(i, 0), from+i+1, next)
			}
		}
	}
	search(q, 0, faderSet{})
	return best
}
