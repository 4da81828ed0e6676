package fit

import (
	"math"
	"math/rand/v2"
	"os"
	"reflect"
	"slices"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum/testkit"
)

// long reports whether the long version of a test is wanted.
func long() bool { return os.Getenv("TONEPLUMB_LONG") == "1" }

// knownMoves returns count moves inside the default equaliser's ranges, between its steps:
// gains ±1–6 dB, bell Q 0.3–2, slope S 0.25–1, neighbours at least spacing octaves
// apart.
func knownMoves(random *rand.Rand, count int, spacing float64) []biquad.Filter {
	uniform := func(low, high float64) float64 { return low + (high-low)*random.Float64() }
	geometric := func(low, high float64) float64 { return low * math.Pow(high/low, random.Float64()) }
	gain := func() float64 { return math.Copysign(uniform(1, 6), random.Float64()-0.5) }
	for {
		var moves []biquad.Filter
		shelf := func(shape biquad.Shape, low, high float64) {
			if len(moves) < count && random.IntN(2) == 0 {
				g := gain()
				q := biquad.QFromSlope(uniform(0.25, 1), g)
				moves = append(moves, biquad.Filter{Shape: shape, FreqHz: geometric(low, high), GainDB: g, Q: q})
			}
		}
		shelf(biquad.LowShelf, 60, 300)
		shelf(biquad.HighShelf, 3000, 10000)
		for len(moves) < count {
			moves = append(moves, biquad.Filter{Shape: biquad.Bell, FreqHz: geometric(60, 10000), GainDB: gain(), Q: geometric(0.3, 2)})
		}
		apart := true
		for i, a := range moves {
			for _, b := range moves[:i] {
				apart = apart && math.Abs(math.Log2(a.FreqHz/b.FreqHz)) >= spacing
			}
		}
		if apart {
			return moves
		}
	}
}

// exactProblem is the problem of finding moves again from their smoothed response.
func exactProblem(moves []biquad.Filter) Problem {
	p := problem(make([]float64, 240), make([]bool, 240))
	p.Smoother.Smooth(p.TargetDB, biquad.ResponseDB(nil, moves, p.FreqHz, p.RateHz))
	return p
}

// A curve that a few moves make exactly must be found again with as many.
func TestExactCurves(t *testing.T) {
	t.Parallel()
	const tol = 0.02 // dB rms; our choice: far below the 0.5 dB step of a gain; an exact fit ends near 1e-4
	for _, row := range []struct {
		name    string
		spacing float64 // octaves
		cases   int
		missed  int // allowed
		long    bool
	}{
		{"an octave and a half apart", 1.5, 80, 0, false},
		{"an octave and a half apart, many", 1.5, 1000, 5, true},
		{"an octave apart", 1, 1000, 10, true}, // broad bells as near as that merge
	} {
		if row.long && !long() {
			continue
		}
		if testing.Short() {
			row.cases /= 20
		}
		random := rand.New(rand.NewPCG(1, 2))
		missed, worst := 0, 0.0
		for i := range row.cases {
			count := 1 + i%5
			moves := knownMoves(random, count, row.spacing)
			got := Search(exactProblem(moves), count)[count]
			worst = max(worst, got.ResidualDB)
			if !(got.ResidualDB <= tol) {
				missed++
				t.Logf("%s, case %d: %+v\n\tfound %+v\n\tresidual %.4f dB, want ≤ %g", row.name, i, moves, got.Filters, got.ResidualDB, tol)
			}
		}
		t.Logf("%s: %d of %d missed, worst residual %.5f dB", row.name, missed, row.cases, worst)
		if missed > row.missed {
			t.Errorf("%s: %d of %d missed, want ≤ %d", row.name, missed, row.cases, row.missed)
		}
	}
}

// What Search promises for any problem.
func TestSearchKeepsItsPromises(t *testing.T) {
	testkit.Skip(t, "searches many curves")
	for _, c := range songCurves(t)[:8] {
		for _, rate := range []float64{8000, 44100} {
			p := c.Problem
			p.RateHz = rate
			p.Weight = slices.Clone(p.Weight)
			for i, f := range p.FreqHz {
				if f > 0.4*rate {
					p.Weight[i] = 0
				}
			}
			got := Search(p, 4)
			if again := Search(p, 4); !reflect.DeepEqual(got, again) {
				t.Errorf("%s at %g Hz: two searches differ", c.name, rate)
			}
			for count, s := range got {
				if len(s.Filters) != count {
					t.Errorf("%s at %g Hz: %d filters at index %d", c.name, rate, len(s.Filters), count)
				}
				if count > 0 && s.ResidualDB > got[count-1].ResidualDB {
					t.Errorf("%s at %g Hz: residual rises from %g to %g dB at %d moves", c.name, rate, got[count-1].ResidualDB, s.ResidualDB, count)
				}
				inside(t, c.name, p, s.Filters)
				if e := newModel(&p).solution(s.Filters); !reflect.DeepEqual(e, s) {
					t.Errorf("%s at %g Hz: its filters alone have %+v, Search %+v", c.name, rate, e, s)
				}
			}
		}
	}
}

// inside checks filters against the ranges of the default equaliser.
func inside(t *testing.T, name string, p Problem, filters []biquad.Filter) {
	t.Helper()
	const tol = 1e-9 // relative; through logarithms and back
	var count [5]int
	for i, f := range filters {
		count[f.Shape]++
		if i > 0 && f.FreqHz < filters[i-1].FreqHz {
			t.Errorf("%s: filters not in order of frequency: %+v", name, filters)
		}
		highest := min(20000, 0.45*p.RateHz)
		width, narrowest, widest := biquad.SlopeFromQ(f.Q, f.GainDB), 0.25, 1.0
		if f.Shape == biquad.Bell {
			highest = min(highest, 12000)
			width, narrowest, widest = f.Q, 0.3, 2
		}
		if f.FreqHz < 20*(1-tol) || f.FreqHz > highest*(1+tol) || math.Abs(f.GainDB) > 6 ||
			width < narrowest*(1-tol) || width > widest*(1+tol) {
			t.Errorf("%s at %g Hz: out of range: %+v", name, p.RateHz, f)
		}
	}
	if count[biquad.LowShelf] > 1 || count[biquad.HighShelf] > 1 || count[biquad.LowCut]+count[biquad.HighCut] > 0 {
		t.Errorf("%s: %+v", name, filters)
	}
}

// The level of the target and the values at bands that are not judged have no effect.
func TestOffsetAndUnjudgedBands(t *testing.T) {
	const tol = 1e-9 // dB; rounding of a 40 dB larger target, through the descent
	p := exactProblem([]biquad.Filter{{Shape: biquad.Bell, FreqHz: 500, GainDB: 3, Q: 1}})
	want := Search(p, 1)[1]
	for i := range p.TargetDB {
		p.TargetDB[i] += 40
		if p.Weight[i] == 0 {
			p.TargetDB[i] = math.NaN()
		}
	}
	got := Search(p, 1)[1]
	if !(math.Abs(got.OffsetDB-want.OffsetDB-40) <= tol && math.Abs(got.ResidualDB-want.ResidualDB) <= tol) {
		t.Errorf("offset %g, residual %g dB; want %g + 40 and %g", got.OffsetDB, got.ResidualDB, want.OffsetDB, want.ResidualDB)
	}
	if g, w := got.Filters[0], want.Filters[0]; !(math.Abs(g.FreqHz/w.FreqHz-1) <= tol && math.Abs(g.GainDB-w.GainDB) <= tol) {
		t.Errorf("%+v, want %+v", g, w)
	}
}

func TestCountsTheEqualiserLacks(t *testing.T) {
	p := songCurves(t)[0].Problem
	p.Equaliser.LowShelf.Count = 0
	p.Equaliser.Bell.Count = 1
	got := Search(p, 4)
	if n := len(got[2].Filters); n != 2 {
		t.Errorf("%d filters at index 2, want a bell and a shelf", n)
	}
	for _, s := range got[3:] {
		if !reflect.DeepEqual(s, got[2]) {
			t.Errorf("%+v, want the solution of two moves", s)
		}
	}
	p.Equaliser = Equaliser{}
	for _, s := range Search(p, 2) {
		if len(s.Filters) != 0 {
			t.Errorf("an equaliser without filters was given %+v", s.Filters)
		}
	}
	p = exactProblem(nil)
	if got := Search(p, 2)[2]; len(got.Filters) != 0 || got.ResidualDB != 0 {
		t.Errorf("a flat target got %+v", got)
	}
}

// A low shelf is below the high shelf, although the opposite fits equally well.
func TestConventionalShelves(t *testing.T) {
	for _, want := range [][]biquad.Filter{
		{{Shape: biquad.LowShelf, FreqHz: 120, GainDB: 4, Q: 0.6}},
		{{Shape: biquad.HighShelf, FreqHz: 6000, GainDB: -3, Q: 0.6}},
		{{Shape: biquad.LowShelf, FreqHz: 120, GainDB: -4, Q: 0.6}, {Shape: biquad.HighShelf, FreqHz: 5000, GainDB: -3, Q: 0.5}},
	} {
		got := Search(exactProblem(want), len(want))[len(want)].Filters
		for i := range want {
			if got[i].Shape != want[i].Shape || math.Abs(got[i].GainDB-want[i].GainDB) > 0.01 {
				t.Errorf("%+v, want %+v", got, want)
			}
		}
	}
}

func TestBrokenCallersPanic(t *testing.T) {
	good := exactProblem(nil)
	for name, spoil := range map[string]func(p *Problem){
		"a target too short":      func(p *Problem) { p.TargetDB = p.TargetDB[1:] },
		"a weight too many":       func(p *Problem) { p.Weight = append(p.Weight, 1) },
		"nothing judged":          func(p *Problem) { p.Weight = make([]float64, len(p.FreqHz)) },
		"a negative weight":       func(p *Problem) { p.Weight[7] = -1 },
		"a judged NaN":            func(p *Problem) { p.TargetDB[100] = math.NaN() },
		"no rate":                 func(p *Problem) { p.RateHz = 0 },
		"a bell without a range":  func(p *Problem) { p.Equaliser.Bell.GainDB = Dial{Min: 1, Max: -1} },
		"two low shelves at once": func(p *Problem) { p.Equaliser.LowShelf.Count = 2 },
	} {
		p := good
		p.TargetDB, p.Weight = slices.Clone(good.TargetDB), slices.Clone(good.Weight)
		spoil(&p)
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			Search(p, 1)
		}()
	}
}

func BenchmarkSearch(b *testing.B) {
	c := songCurves(b)[0]
	b.ReportAllocs()
	for b.Loop() {
		Search(c.Problem, 5)
	}
}
