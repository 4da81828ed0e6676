package match

import (
	"math"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/testkit"
)

// A reason is about the side the move takes away from, and never about another.
func TestWhy(t *testing.T) {
	shelf := func(shape biquad.Shape, hz, gainDB float64) biquad.Filter {
		return biquad.Filter{Shape: shape, FreqHz: hz, GainDB: gainDB, Q: 0.7}
	}
	up := invented(1, 90, through(shelf(biquad.HighShelf, 3000, 5)))
	other := invented(7, 90, through(shelf(biquad.HighShelf, 3000, 5)))
	c := compare(t, invented(1, 90, flat), up)
	several := compare(t, invented(1, 90, flat), up, other)
	nan := math.NaN()
	for _, row := range []struct {
		name       string
		c          *Comparison
		all        []biquad.Filter // the first is asked about
		reason     Reason
		db, allDB  float64 // allDB NaN: not given
		references int
	}{
		{"under", c, []biquad.Filter{shelf(biquad.HighShelf, 6300, 3)}, Off, 3.5, nan, 1},
		{"over", c, []biquad.Filter{shelf(biquad.LowShelf, 200, -3)}, Off, -1.4, nan, 1},
		{"more than the difference", c, []biquad.Filter{shelf(biquad.HighShelf, 6300, 5), shelf(biquad.Bell, 9000, -3)}, Off, 3.5, 1.7, 1},
		{"makes good", c, []biquad.Filter{shelf(biquad.HighShelf, 6300, -3), shelf(biquad.HighShelf, 3000, 8)}, MakesGood, -2.5, nan, 1},
		{"one of two that cancel", c, []biquad.Filter{shelf(biquad.HighShelf, 6300, -3), shelf(biquad.LowShelf, 100, 0.1)}, WithOthers, 0, nan, 1},
		{"alone and astray", c, []biquad.Filter{shelf(biquad.HighShelf, 6300, -3)}, ForTheWhole, 0, nan, 1},
		{"several", several, []biquad.Filter{shelf(biquad.HighShelf, 6300, 1.5)}, Off, 4.3, nan, 2},
	} {
		r := row.c.With(row.all, SolveOptions{TowardPercent: 100, Equaliser: DefaultSolve().Equaliser})
		got := r.Moves[0].Why
		const half = 0.05 // of the last digit here
		if got.Reason != row.reason || math.Abs(got.DB-row.db) > half || got.References != row.references {
			t.Errorf("%s: %+v, want %v %g dB", row.name, got, row.reason, row.db)
		}
		if math.IsNaN(got.TogetherDB) != math.IsNaN(row.allDB) || math.Abs(got.TogetherDB-row.allDB) > half {
			t.Errorf("%s: all moves %g dB, want %g", row.name, got.TogetherDB, row.allDB)
		}
		if math.IsNaN(got.OthersDB) != (row.c == c) {
			t.Errorf("%s: other references ±%g dB", row.name, got.OthersDB)
		}
	}
}

// Whatever the moves, the figure of a reason has the sign of the gain.
func TestWhyDoesNotContradict(t *testing.T) {
	testkit.Skip(t, "thirty searches")
	c := compare(t, invented(1, 90, flat), invented(5, 90, func(hz float64) float64 { return 3 * math.Sin(2*math.Log(hz)) }))
	signed := 0
	for toward := 20.0; toward <= 100; toward += 20 {
		for moves := 1; moves <= 6; moves++ {
			r := c.Solve(SolveOptions{MaxMoves: moves, TowardPercent: toward, ExactMoves: true, Equaliser: DefaultSolve().Equaliser})
			for _, m := range r.Moves {
				if m.Why.DB == 0 {
					continue
				}
				signed++
				if m.Why.DB*m.GainDB <= 0 {
					t.Errorf("%+.1f dB: %+v", m.GainDB, m.Why)
				}
			}
		}
	}
	if signed < 30 {
		t.Errorf("only %d reasons have a figure", signed)
	}
}

func TestNoMoves(t *testing.T) {
	plain := invented(1, 90, flat)
	finished := DefaultSolve()
	finished.Stage = Finished
	steep := invented(2, 90, func(hz float64) float64 { return 6 * math.Log2(hz/1000) })
	for _, c := range []struct {
		name     string
		mix, ref *measure.Recording
		o        SolveOptions
		want     Outlook
		usual    bool // farther apart than finished songs usually are: not
	}{
		{"not asked for", plain, invented(2, 90, flat), SolveOptions{TowardPercent: 60}, NotAsked, true},
		{"no part of the way", plain, invented(2, 90, flat), SolveOptions{MaxMoves: 4}, NotAsked, true},
		{"itself", plain, plain, DefaultSolve(), Inaudible, true},
		{"another song of that tone", plain, invented(2, 90, flat), finished, NothingToDo, true},
		{"a song too rough for a fault of tone", plain, invented(2, 90, jagged), finished, NothingToDo, false},
		{"a song of another kind", plain, steep, DefaultSolve(), TooUnlike, false},
		{"a phrase", plain, invented(2, 12, flat), finished, TooShort, true},
		{"an octave and a half", with(invented(1, 90, flat), func(r *measure.Recording) { r.CutoffHz = 160 }), invented(2, 90, flat), DefaultSolve(), TooLittle, true},
	} {
		r := compare(t, c.mix, c.ref).Solve(c.o)
		got := r.NoMoves()
		if len(r.Moves) > 0 || got.Outlook != c.want || got.Usual != c.usual || got.Curve || got.OwnSong != (c.mix == c.ref) {
			t.Errorf("%s: %d moves, %+v, want %v", c.name, len(r.Moves), got, c.want)
		}
	}
	o := DefaultSolve()
	o.Stage = AsMeasured
	if r := compare(t, plain, steep).Solve(o); len(r.Moves) == 0 || r.Outlook != Advised {
		t.Errorf("as measured: %d moves, %v", len(r.Moves), r.Outlook)
	}
	level, err := FitCurve([]document.CurvePoint{{FreqHz: 20, GainDB: 3}, {FreqHz: 20000, GainDB: 3}}, 44100, DefaultSolve())
	if err != nil {
		t.Fatal(err)
	}
	if got := level.NoMoves(); got.Outlook != Inaudible || !got.Curve || len(level.Moves) > 0 {
		t.Errorf("level curve: %+v, moves %+v", got, level.Moves)
	}
}

// jagged is too rough for a difference of tone.
func jagged(hz float64) float64 { return 5 * math.Sin(12*math.Log(hz)) }
