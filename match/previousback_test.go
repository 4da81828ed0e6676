package match

import (
	"math"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/spectrum"
)

// Earlier moves are undone at the rate they ran at, the mix's: near half of it a shelf is another
// than at the rate of the document. A band that they cut too far to be judged is raised by no more
// than is judged.
func TestBackAtTheMixsRate(t *testing.T) {
	e := &PreviousRound{Settings: &document.Settings{RateHz: 44100, TrimDB: -1, Moves: []biquad.Filter{{Shape: biquad.HighShelf, FreqHz: 16000, GainDB: 4, Q: math.Sqrt2 / 2}}}}
	const nearDB = 1e-9 // the same formula
	apart := 0.0
	for b, g := range e.Back(96000) {
		hz := spectrum.CentreHz(b)
		want := func(rateHz float64) float64 {
			return 1 - biquad.ResponseDB(nil, e.Settings.Moves, []float64{hz}, rateHz)[0]
		}
		if got := spectrum.PowerToDB(g); hz < 48000 && math.Abs(got-want(96000)) > nearDB {
			t.Errorf("at %.0f Hz: %.2f dB, want %.2f", hz, got, want(96000))
		} else if hz < 20000 {
			apart = max(apart, math.Abs(got-want(44100)))
		}
	}
	const seenDB = 0.1
	if apart < seenDB {
		t.Errorf("the rates are %.2f dB apart, so this tests nothing", apart)
	}
	e.Settings.Moves = []biquad.Filter{{Shape: biquad.HighCut, FreqHz: 1000, CutDBPerOct: 48}}
	if got := spectrum.PowerToDB(e.Back(44100)[bandAt(10000)]); math.Abs(got-mostTakenDB-1) > nearDB {
		t.Errorf("what is gone is raised by %.2f dB", got)
	}
}
