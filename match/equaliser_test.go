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
