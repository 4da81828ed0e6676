package match

import (
	"math"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/spectrum/measure"
)

func TestMastered(t *testing.T) {
	of := func(lufs, peak float64) *measure.Recording {
		return &measure.Recording{Programme: measure.Programme{WholeLUFS: lufs, TruePeakDBTP: peak}}
	}
	mix := of(-20, -4) // 16 dB
	for _, c := range []struct {
		name string
		refs []*measure.Recording
		want float64 // of the references; 0: not mastered
	}{
		{"4 dB less is not enough", []*measure.Recording{of(-12, 0)}, 0},
		{"more than the mix", []*measure.Recording{of(-23, -1)}, 0},
		{"limited", []*measure.Recording{of(-9, -0.1)}, 8.9},
		{"two, the mean counts", []*measure.Recording{of(-9, 0), of(-13, 0)}, 11},
		{"two, one of them open", []*measure.Recording{of(-9, 0), of(-17, 0)}, 0},
		{"one not known", []*measure.Recording{of(-9, 0), {}}, 0},
		{"none", nil, 0},
	} {
		const rounding = 1e-9
		got, is := mastered(mix, c.refs)
		if is != (c.want != 0) || is && (math.Abs(got.ReferenceDB-c.want) > rounding || math.Abs(got.MixDB-16) > rounding || got.References != len(c.refs)) {
			t.Errorf("%s: %+v, %v, want %g dB", c.name, got, is, c.want)
		}
	}
	if got, is := mastered(&measure.Recording{}, []*measure.Recording{of(-9, 0)}); is {
		t.Errorf("mix not known: %+v", got)
	}
}

// A bell of +4 dB where a voice of two octaves has all its power lifts it by nearly
// that; a mix of all bands is lifted by much less, and a trim moves both alike.
func TestLeadLU(t *testing.T) {
	mix := invented(1, 30, flat)
	voice := invented(1, 30, func(hz float64) float64 {
		if hz > 900 && hz < 1100 {
			return 0
		}
		return -80
	})
	lift := &document.Settings{RateHz: 44100, Moves: []biquad.Filter{{Shape: biquad.Bell, FreqHz: 1000, GainDB: 4, Q: 0.5}}}
	alone := mix.LoudnessThrough(lift.PowerGain()) - mix.LoudnessLUFS
	want := 4 - alone
	const toleranceLU = 0.1 // the bell falls by 0.08 dB to the edges of the voice
	for _, trim := range []float64{0, -2.5} {
		lift.TrimDB = trim
		if got := LeadLU(mix, voice.MeanPower(nil), lift); math.Abs(got-want) > toleranceLU || got < 1 {
			t.Errorf("trim %g: the voice comes out by %.3f LU, want %.3f", trim, got, want)
		}
	}
	if got := LeadLU(mix, mix.MeanPower(nil), lift); math.Abs(got) > toleranceLU {
		t.Errorf("the mix against itself: %g", got)
	}
}
