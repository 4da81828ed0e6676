package fit

import (
	"math"
	"slices"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum/testkit"
)

// thirdOctaves is the default equaliser with the 31 frequencies of a third-octave
// list. Source: ISO 266 (from memory).
func thirdOctaves() Equaliser {
	var freq Dial
	for _, decade := range []float64{10, 100, 1000, 10000} {
		for _, v := range []float64{1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8} {
			if f := tidy(v * decade); f >= 20 && f <= 20000 {
				freq.Values = append(freq.Values, f)
			}
		}
	}
	e := Default()
	e.LowShelf.FreqHz, e.Bell.FreqHz, e.HighShelf.FreqHz = freq, freq, freq
	return e
}

// sixthOctaves is the default equaliser with every second frequency of R40, which
// is the series R20. Source: ISO 3 (from memory).
func sixthOctaves() Equaliser {
	e := Default()
	var freq Dial
	for i, f := range e.Bell.FreqHz.Values {
		if i%2 == 0 {
			freq.Values = append(freq.Values, f)
		}
	}
	e.LowShelf.FreqHz, e.Bell.FreqHz, e.HighShelf.FreqHz = freq, freq, freq
	return e
}

// nearestSettings rounds the simplest way: each setting to its nearest step.
func nearestSettings(p Problem, s Solution) Solution {
	m := newModel(&p)
	var filters []biquad.Filter
	for _, d := range m.dialled(s.Filters) {
		filters = append(filters, d.filter())
	}
	return m.solution(filters)
}

// How much rounding costs on differences of real songs at four moves.
func TestRoundSongCurves(t *testing.T) {
	testkit.Skip(t, "sixteen searches for each list")
	t.Parallel()
	const moves = 4
	curves := songCurves(t)
	if !long() {
		curves = curves[:16]
	}
	for _, row := range []struct {
		name      string
		equaliser Equaliser
		median    float64 // of the residual over that of the free fit; our choice: rounding may cost
		worst     float64 // inaudible: 3 % of a rest of about 1 dB, and more on coarse dials
	}{
		{"third-octave list", thirdOctaves(), 1.08, 1.10},
		{"sixth-octave list", sixthOctaves(), 1.03, 1.03},
		{"default steps", broad(), 1.03, 1.03},
	} {
		var rounded, plain []float64
		for _, c := range curves {
			p := c.Problem
			p.Equaliser = row.equaliser
			free := Search(p, moves)[moves]
			r, n := Round(p, free), nearestSettings(p, free)
			if r.ResidualDB > n.ResidualDB*(1+1e-9) {
				t.Errorf("%s, %s: %.4f dB, the nearest settings have %.4f", row.name, c.name, r.ResidualDB, n.ResidualDB)
			}
			onDials(t, row.name+", "+c.name, row.equaliser, r.Filters)
			rounded = append(rounded, r.ResidualDB/free.ResidualDB)
			plain = append(plain, n.ResidualDB/free.ResidualDB)
		}
		slices.Sort(rounded)
		slices.Sort(plain)
		middle, last := len(rounded)/2, len(rounded)-1
		t.Logf("%s: median %.4f, worst %.4f of the free fit; nearest settings %.4f, %.4f",
			row.name, rounded[middle], rounded[last], plain[middle], plain[last])
		if rounded[middle] > row.median || rounded[last] > row.worst {
			t.Errorf("%s: median %.4f, worst %.4f of the free fit, want ≤ %g, %g", row.name, rounded[middle], rounded[last], row.median, row.worst)
		}
	}
}

// onDials checks that every number is one that the dial shows, to the last bit.
func onDials(t *testing.T, name string, e Equaliser, filters []biquad.Filter) {
	t.Helper()
	for _, f := range filters {
		a := e.Limits(f.Shape)
		if !slices.Contains(a.FreqHz.settings(), f.FreqHz) || !slices.Contains(a.GainDB.settings(), f.GainDB) || f.GainDB == 0 {
			t.Errorf("%s: not on the dials: %+v", name, f)
		}
		if f.Shape == biquad.Bell {
			if !slices.Contains(a.Width.settings(), f.Q) {
				t.Errorf("%s: not on the dials: %+v", name, f)
			}
		} else if !slices.ContainsFunc(a.Width.settings(), func(s float64) bool { return biquad.QFromSlope(s, f.GainDB) == f.Q }) {
			t.Errorf("%s: no slope of the dial: %+v", name, f)
		}
	}
}

// Moves that are on the dials already are unchanged, a weak one is dropped, and dials
// without steps may have any value.
func TestRound(t *testing.T) {
	moves := []biquad.Filter{
		{Shape: biquad.LowShelf, FreqHz: 112, GainDB: 3.5, Q: biquad.QFromSlope(0.75, 3.5)},
		{Shape: biquad.Bell, FreqHz: 425, GainDB: -2.5, Q: 0.9},
	}
	p := exactProblem(moves)
	got := Round(p, Search(p, 2)[2])
	if !slices.Equal(got.Filters, moves) {
		t.Errorf("%+v, want %+v", got.Filters, moves)
	}

	weak := append(slices.Clone(moves), biquad.Filter{Shape: biquad.Bell, FreqHz: 3000, GainDB: 0.1, Q: 1})
	q := exactProblem(weak)
	if got := Round(q, newModel(&q).solution(weak)); !slices.Equal(got.Filters, moves) {
		t.Errorf("with a weak bell: %+v, want %+v", got.Filters, moves)
	}

	const tol = 1e-6 // dB; the descent's end
	free := exactProblem([]biquad.Filter{{Shape: biquad.Bell, FreqHz: 433, GainDB: -2.7, Q: 0.93}})
	free.Equaliser.Bell.GainDB.Step, free.Equaliser.Bell.Width.Step = 0, 0
	free.Equaliser.Bell.FreqHz = Dial{Min: 20, Max: 12000}
	got = Round(free, Search(free, 1)[1])
	if !(got.ResidualDB <= tol) || math.Abs(got.Filters[0].GainDB+2.7) > 1e-3 {
		t.Errorf("dials without steps: %+v", got)
	}

	if got := Round(p, Solution{}); len(got.Filters) != 0 {
		t.Errorf("no moves were rounded to %+v", got)
	}
	defer func() {
		if recover() == nil {
			t.Error("a cut did not panic")
		}
	}()
	Round(p, Solution{Filters: []biquad.Filter{{Shape: biquad.LowCut, FreqHz: 30, CutDBPerOct: 24}}})
}

func BenchmarkRound(b *testing.B) {
	p := songCurves(b)[0].Problem
	s := Search(p, 4)[4]
	b.ReportAllocs()
	for b.Loop() {
		Round(p, s)
	}
}
