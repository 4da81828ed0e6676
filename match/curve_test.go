package match

import (
	"testing"

	"toneplumb/biquad/fit"
	"toneplumb/match/document"
)

func TestFitCurveLevelIsTrim(t *testing.T) {
	points := []document.CurvePoint{{FreqHz: 20, GainDB: 2.5}, {FreqHz: 20000, GainDB: 2.5}}
	r, err := FitCurve(points, 48000, SolveOptions{MaxMoves: 4, TowardPercent: 100, Equaliser: fit.Default()})
	if err != nil || len(r.Moves) != 0 || r.TrimDB < 2.499 || r.TrimDB > 2.501 {
		t.Errorf("a level curve: %+v, %v; want no moves and a trim of 2.5 dB", r, err)
	}
}
