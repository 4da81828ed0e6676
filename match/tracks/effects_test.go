package tracks

import (
	"math"
	"testing"

	"toneplumb/match"
	"toneplumb/spectrum"
)

// effectToleranceDB is how far the predicted curve of the mix may lie off. Our choice: the
// last decimal that is printed.
const effectToleranceDB = 0.1

// checkEffect filters the track and measures the mix again.
func checkEffect(t *testing.T, a *Advice, x *TrackMove, mix sound, stems []sound) {
	t.Helper()
	if apart := effectApart(t, a, x, mix, stems); apart > effectToleranceDB {
		t.Errorf("predicted and measured curve lie %.3f dB apart", apart)
	}
}

// effectApart returns how far the predicted change of the mix's curve and the measured one
// lie apart: the most over the judged bands, smoothed over a third of an octave.
func effectApart(t *testing.T, a *Advice, x *TrackMove, mix sound, stems []sound) float64 {
	var at []sound
	for _, i := range x.Tracks {
		at = append(at, stems[i])
	}
	after := silence(len(mix), len(mix[0])).plus2(mix, sumOf(at).through(x.Filter), sumOf(at))
	return curveApart(t, a, after, x.EffectDB)
}

// curveApart is how far the mix's measured change lies from a predicted one.
func curveApart(t *testing.T, a *Advice, after sound, effectDB []float64) float64 {
	moved := measured(t, after, "after.wav")
	got := moved.MeanPower(a.Together.Gate)
	left := make([]bool, spectrum.BandCount)
	change := make([]float64, spectrum.BandCount)
	for b := range change {
		left[b] = a.Result.LeftOut[b].Cause != match.Kept
		change[b] = spectrum.PowerToDB(max(got[b], tiny) / max(a.Together.MixPower[b], tiny))
	}
	s := spectrum.NewSmoother(left, a.Result.Options.SmoothOct)
	measuredDB, predicted := s.Smooth(nil, change), s.Smooth(nil, effectDB)
	most := 0.0
	for b, why := range a.Result.LeftOut {
		if hz := spectrum.CentreHz(b); why.Cause == match.Kept && hz >= a.Result.Options.RangeHz[0] && hz <= a.Result.Options.RangeHz[1] {
			most = max(most, math.Abs(measuredDB[b]-predicted[b]))
		}
	}
	return most
}

// plus2 adds a mix and what a track gains.
func (s sound) plus2(mix, with, without sound) sound {
	for c := range s {
		for i := range s[c] {
			s[c][i] = mix[c][i] + with[c][i] - without[c][i]
		}
	}
	return s
}

// trimToleranceLU: the trim is measured; what is left is the filter's ringing after the end.
const trimToleranceLU = 0.02

func checkTrim(t *testing.T, a *Advice, x *TrackMove, stems []sound) {
	t.Helper()
	on := x.Tracks[0]
	before := measured(t, stems[on], "before.wav").LoudnessLUFS
	after := measured(t, stems[on].through(x.Filter), "after.wav").LoudnessLUFS
	if want := before - after; math.Abs(x.TrimsDB[0]-want) > trimToleranceLU {
		t.Errorf("a trim of %.2f dB, want %.2f", x.TrimsDB[0], want)
	}
	if lu := a.Tracks[on].LoudnessLUFS; math.Abs(lu-before) > 0.01 {
		t.Errorf("the track is said to have %.2f LUFS, and has %.2f", lu, before)
	}
}
