package match

import (
	"math"
	"testing"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/spectrum/testkit"
)

// No move is smaller than was asked for, at any share of the way, and what is left still helps.
func TestLeastMoves(t *testing.T) {
	testkit.Skip(t, "searches 18 times")
	large := through(biquad.Filter{Shape: biquad.Bell, FreqHz: 300, GainDB: 6, Q: 0.8})
	small := through(biquad.Filter{Shape: biquad.Bell, FreqHz: 3000, GainDB: 1.5, Q: 0.8})
	other := func(hz float64) float64 { return large(hz) + small(hz) }
	for _, row := range []struct {
		name string
		c    *Comparison
		s    Stage
	}{
		{"its own song", compare(t, invented(1, 90, flat), invented(1, 90, other)), Rough},
		{"another song", compare(t, invented(1, 90, flat), invented(2, 90, other)), Rough},
		{"as measured", compare(t, invented(1, 90, flat), invented(2, 90, other)), AsMeasured},
	} {
		for toward, least := range map[float64]float64{60: 2, 100: 3} {
			o := DefaultSolve()
			o.TowardPercent, o.Stage = toward, row.s
			smallest := func(least float64) (gainDB float64, r *Result) {
				o.LeastDB, gainDB = least, math.Inf(1)
				r = row.c.Solve(o)
				for _, m := range r.Moves {
					gainDB = min(gainDB, math.Abs(m.GainDB))
				}
				return gainDB, r
			}
			if got, _ := smallest(0); got >= least {
				t.Errorf("%s, %g %%: without a least gain the smallest is %g dB already", row.name, toward, got)
			}
			if got, r := smallest(least); got < least || len(r.Moves) == 0 || r.DistanceAfterDB >= r.DistanceBeforeDB {
				t.Errorf("%s, %g %%: the smallest of %d moves is %g dB, want %g; %.2f → %.2f dB", row.name, toward, len(r.Moves), got, least, r.DistanceBeforeDB, r.DistanceAfterDB)
			}
			if got, r := smallest(6); len(r.Moves) > 1 || got < 6 || len(r.Moves) == 1 && r.DistanceAfterDB >= r.DistanceBeforeDB {
				t.Errorf("%s, %g %%: %d moves, the smallest of %g dB, where one may have 6", row.name, toward, len(r.Moves), got)
			}
		}
	}
}

// A move whose work the others undo is not dialled, though the difference shows it.
func TestMovesShow(t *testing.T) {
	c := compare(t, invented(1, 90, flat), invented(1, 90, func(hz float64) float64 {
		switch {
		case hz > 72 && hz < 112:
			return -6
		case hz < 250:
			return 7
		case hz > 1400 && hz < 2800:
			return 4
		}
		return 0
	}))
	cut := biquad.Filter{Shape: biquad.Bell, FreqHz: 90, GainDB: -4, Q: 2}
	lift := biquad.Filter{Shape: biquad.LowShelf, FreqHz: 250, GainDB: 4, Q: math.Sqrt2 / 2}
	apart := biquad.Filter{Shape: biquad.Bell, FreqHz: 2000, GainDB: 3, Q: 1}
	for _, row := range []struct {
		moves []biquad.Filter
		want  bool
	}{
		{[]biquad.Filter{cut}, true},
		{[]biquad.Filter{lift}, true},
		{[]biquad.Filter{cut, lift}, false},
		{[]biquad.Filter{cut, apart}, true},
	} {
		if got := c.dialable(row.moves, fit.Default(), 0); got != row.want {
			t.Errorf("%v: %v", row.moves, got)
		}
	}
}

// Two shelves in one place are one shelf and a level, or nearly. A tilt about one place, and shelves that are far apart,
// may be dialled.
func TestRepeatingShelves(t *testing.T) {
	shelf := func(shape biquad.Shape, hz, db float64) biquad.Filter {
		return biquad.Filter{Shape: shape, FreqHz: hz, GainDB: db, Q: math.Sqrt2 / 2}
	}
	low, high := biquad.LowShelf, biquad.HighShelf
	for _, row := range []struct {
		name string
		f, g biquad.Filter
		want bool
	}{
		{"one level", shelf(high, 85, -2.5), shelf(low, 118, -5), true},
		{"a dip between", shelf(low, 180, 6), shelf(high, 300, 2), true},
		{"one kind against each other", shelf(low, 85, 2.5), shelf(low, 118, -5), true},
		{"one kind, far apart", shelf(low, 60, 3), shelf(low, 300, -3), false},
		{"a tilt", shelf(low, 500, -3), shelf(high, 800, 3), false},
		{"a tilt in one place", shelf(low, 500, -3), shelf(high, 600, 3), true},
		{"both ends lifted", shelf(low, 100, 3), shelf(high, 8000, 3), false},
	} {
		if repeats(row.f, row.g) != row.want || repeats(row.g, row.f) != row.want {
			t.Errorf("%s: repeats is not %v", row.name, row.want)
		}
	}
}
