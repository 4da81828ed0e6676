package report

import (
	"bytes"
	"math"
	"testing"

	"toneplumb/biquad/fit"
	"toneplumb/match"
	"toneplumb/match/document"
)

// What is written is read again, whatever the dials of the equaliser stand for.
func TestSettingsAreReadAgain(t *testing.T) {
	for _, stated := range []fit.DialTerms{{}, {Freq: fit.Corner, Width: fit.DBPerOct}, {Freq: fit.Corner, Width: fit.NoWidth},
		{Width: fit.ShelfQ}, {Width: fit.Octaves}, {Width: fit.Octaves3DB}} {
		r := invented("mix.wav", "ref.wav", someMoves(8))
		r.Moves = nil
		for _, f := range someMoves(8) {
			if f.GainDB == 0 {
				continue
			}
			a := fit.ShapeLimits{Terms: stated}
			m := match.Move{Filter: f, Dial: match.Dial{Stated: stated}}
			m.Dial.FreqHz, m.Dial.GainDB, m.Dial.Width = a.Dialled(f)
			if freqIs, widthIs := document.DialWords(f.Shape, stated); freqIs != "" && widthIs != "" {
				r.Moves = append(r.Moves, m) // else no dial of this shape is stated so
			}
		}
		var b bytes.Buffer
		if err := JSON(&b, r); err != nil {
			t.Fatal(err)
		}
		got, err := document.ReadSettings(&b)
		if err != nil {
			t.Errorf("%+v: %v", stated, err)
			continue
		}
		if len(r.Moves) == 0 || len(got.Moves) != len(r.Moves) {
			t.Errorf("%+v: %d moves read of %d", stated, len(got.Moves), len(r.Moves))
		}
		const digits = 5e-5 // half of the fourth decimal
		for i, want := range r.Settings().Moves {
			if g := got.Moves[i]; math.Abs(g.FreqHz-want.FreqHz) > digits || math.Abs(g.GainDB-want.GainDB) > digits || math.Abs(g.Q-want.Q) > digits {
				t.Errorf("%+v: %+v is read as %+v", stated, want, g)
			}
		}
	}
}
