package tracks

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// The sets found reduce the cost by bᵀA⁻¹b of their variables, most of all sets of their size. A
// variable that does what another one does is in no set with it.
func TestBestSets(t *testing.T) {
	const n, again = 7, 3 // the last variable is the one of this number again
	rng := rand.New(rand.NewPCG(1, 2))
	x := mat.NewDense(40, n+1, nil)
	x.Apply(func(_, _ int, _ float64) float64 { return rng.NormFloat64() }, x)
	x.SetCol(n, mat.Col(nil, again, x))
	y := mat.NewVecDense(40, nil)
	for i := range 40 {
		y.SetVec(i, rng.NormFloat64())
	}
	var a mat.Dense
	a.Mul(x.T(), x)
	var b mat.VecDense
	b.MulVec(x.T(), y)
	var q quadratic
	for i := range n + 1 {
		q.a, q.b = append(q.a, mat.Row(nil, i, &a)), append(q.b, b.AtVec(i))
	}
	drop := func(set []int) float64 {
		part, right := mat.NewDense(len(set), len(set), nil), mat.NewVecDense(len(set), nil)
		for i, k := range set {
			right.SetVec(i, b.AtVec(k))
			for j, l := range set {
				part.Set(i, j, a.At(k, l))
			}
		}
		var g mat.VecDense
		if err := g.SolveVec(part, right); err != nil {
			t.Fatal(set, err)
		}
		return mat.Dot(&g, right)
	}
	most := make([]float64, together)
	for bits := 1; bits < 1<<n; bits++ {
		var set []int
		for k := range n {
			if bits>>k&1 == 1 {
				set = append(set, k)
			}
		}
		if len(set) <= together {
			most[len(set)-1] = max(most[len(set)-1], drop(set))
		}
	}
	for i, sets := range q.bestSets(n + 1) {
		if len(sets) == 0 || math.Abs(sets[0].drop-most[i]) > 1e-9 {
			t.Fatalf("sets of %d: %v, want a drop of %.6f", i+1, sets, most[i])
		}
		for k, s := range sets {
			if math.Abs(s.drop-drop(s.of)) > 1e-9 || k > 0 && s.drop > sets[k-1].drop+1e-12 {
				t.Errorf("set %v: drop %.6f, want %.6f and in order", s.of, s.drop, drop(s.of))
			}
			if slices.Contains(s.of, again) && slices.Contains(s.of, n) {
				t.Errorf("set %v holds one variable twice", s.of)
			}
		}
	}
}
