package match

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"toneplumb/biquad/fit"
	"toneplumb/match/document"
)

// The worked descriptions are read, and what is not on their dials is never advised.
func TestWorkedEqualisers(t *testing.T) {
	files, err := filepath.Glob("../examples/equalisers/*.json")
	if err != nil || len(files) != 4 {
		t.Fatalf("%d descriptions, want 4 (%v)", len(files), err)
	}
	tilted := invented(2, 90, func(hz float64) float64 { return -8 / (1 + hz/300) })
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		e, err := document.ParseEqualiser(data)
		if err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		r := compare(t, invented(1, 90, flat), tilted).Solve(SolveOptions{MaxMoves: 4, TowardPercent: 100, Equaliser: e})
		if len(r.Moves) == 0 || r.DistanceAfterDB >= r.DistanceBeforeDB {
			t.Errorf("%s: %d moves, distance %.2f then %.2f dB", file, len(r.Moves), r.DistanceBeforeDB, r.DistanceAfterDB)
		}
		for _, m := range r.Moves {
			a := e.Limits(m.Shape)
			for _, v := range []struct {
				name  string
				dial  fit.Dial
				value float64
			}{{"frequency", a.FreqHz, m.Dial.FreqHz}, {"gain", a.GainDB, m.Dial.GainDB}, {"width", a.Width, m.Dial.Width}} {
				if !onDial(v.dial, v.value) {
					t.Errorf("%s: %v, %s %g is not on the dial", file, m.Shape, v.name, v.value)
				}
			}
		}
	}
}

func onDial(d fit.Dial, value float64) bool {
	const tolerance = 1e-6 // of arithmetic
	near := func(x float64) bool { return math.Abs(value-x) <= tolerance*(1+math.Abs(x)) }
	for _, x := range d.Values {
		if near(x) {
			return true
		}
	}
	if len(d.Values) > 0 {
		return false
	}
	if d.Step == 0 {
		return value > d.Min-tolerance && value < d.Max+tolerance
	}
	for i := 0; d.Min+float64(i)*d.Step < d.Max+tolerance; i++ {
		if near(d.Min + float64(i)*d.Step) {
			return true
		}
	}
	return false
}

// An equaliser without a low shelf has to reach the lows by a bell, also past the judged range.
func TestBellInPlaceOfShelf(t *testing.T) {
	boomy := invented(1, 90, func(hz float64) float64 { return 10 / (1 + math.Pow(hz/70, 4)) })
	c := compare(t, boomy, invented(2, 90, flat))
	bells := fit.Equaliser{Bell: fit.Default().Bell}
	for _, stage := range []Stage{Rough, Finished, AsMeasured} {
		with, without := DefaultSolve(), DefaultSolve()
		with.Stage, without.Stage, without.Equaliser = stage, stage, bells
		// A shelf fits this difference better; half a dB is a tenth of it.
		if shelf, bell := c.Solve(with), c.Solve(without); len(bell.Moves) == 0 || bell.DistanceAfterDB > shelf.DistanceAfterDB+0.5 {
			t.Errorf("%v: with bells alone %d moves, %.2f dB left; with a shelf %.2f of %.2f", stage, len(bell.Moves), bell.DistanceAfterDB, shelf.DistanceAfterDB, shelf.DistanceBeforeDB)
		}
	}
}

// The common equaliser reaches twice as far as measured; one that was described does not.
func TestDialsOfStages(t *testing.T) {
	own := fit.Common(3)
	for _, row := range []struct {
		stage  Stage
		own    fit.Equaliser
		wantDB float64
	}{{Rough, fit.Equaliser{}, 6}, {Finished, fit.Equaliser{}, 6}, {AsMeasured, fit.Equaliser{}, 12}, {AsMeasured, own, 3}} {
		if got := (SolveOptions{Stage: row.stage, Equaliser: row.own}).Dials().Bell.GainDB.Max; got != row.wantDB {
			t.Errorf("%v: up to %g dB, want %g", row.stage, got, row.wantDB)
		}
	}
}

// A shelf that can only be set where nothing is judged takes no bell's place.
func TestShelfOutOfReach(t *testing.T) {
	dull := invented(2, 90, func(hz float64) float64 { return -8 / (1 + math.Pow(3000/hz, 3)) })
	dull.CutoffHz = 8000
	c := compare(t, invented(1, 90, flat), dull)
	bells := DefaultSolve()
	bells.Equaliser = fit.Equaliser{Bell: fit.Default().Bell}
	far := bells
	far.Equaliser.HighShelf = fit.Default().HighShelf
	far.Equaliser.HighShelf.FreqHz = fit.Dial{Values: []float64{10000, 12000}}
	if got, want := c.Solve(far), c.Solve(bells); len(want.Moves) == 0 || got.DistanceAfterDB != want.DistanceAfterDB {
		t.Errorf("%d moves, %.2f dB left; with bells alone %d, %.2f", len(got.Moves), got.DistanceAfterDB, len(want.Moves), want.DistanceAfterDB)
	}
}

// A shelf alone cannot but shift the other end, level ignored; it is advised all the same.
func TestShelfAlone(t *testing.T) {
	dull := invented(1, 90, func(hz float64) float64 { return -10/(1+math.Pow(7000/hz, 3)) - 4/(1+math.Pow(hz/200, 3)) })
	c := compare(t, dull, invented(2, 90, flat))
	o := DefaultSolve()
	o.Equaliser = fit.Equaliser{HighShelf: fit.Default().HighShelf}
	for stage, want := range map[Stage]bool{Rough: true, AsMeasured: true, Finished: false} {
		o.Stage = stage
		if r := c.Solve(o); (len(r.Moves) == 1) != want || r.DistanceAfterDB > r.DistanceBeforeDB {
			t.Errorf("%v: %d moves, %.2f → %.2f dB", stage, len(r.Moves), r.DistanceBeforeDB, r.DistanceAfterDB)
		}
	}
}
