package multitrack

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/internal/audiotest"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/memory"
)

// A voice that has an equaliser in the mix, below other music.
func TestCoherentPower(t *testing.T) {
	const (
		rate = 44100
		// 40 s of noise as loud as the voice: a third octave is known to 0.3 dB.
		toleranceDB = 0.6
	)
	voice, rest := audiotest.Noise(1, rate, 40, -20), audiotest.Noise(2, rate, 40, -20)
	voice[1] = voice[0] // a single track, in the middle
	inside := [][]float64{append([]float64(nil), voice[0]...), append([]float64(nil), voice[1]...)}
	biquad.NewCascade([]biquad.Filter{{Shape: biquad.Bell, FreqHz: 1000, GainDB: 6, Q: 1}}, rate, 2).Run(inside)
	mix := audio.NewBlock(2, len(voice[0]))
	for c := range mix {
		for i := range mix[c] {
			mix[c][i] = inside[c][i] + rest[c][i]
		}
	}
	got, err := CoherentPower(context.Background(), &memory.Sound{RateHz: rate, X: voice}, &memory.Sound{RateHz: rate, X: mix, Most: 777}, "v.wav")
	if err != nil {
		t.Fatal(err)
	}
	want := measured(t, rate, [][]float64{inside[0]}).MeanPower(nil)
	for b := 60; b < spectrum.BandCount-8; b += 8 {
		g, w := 0.0, 0.0
		for i := b; i < b+8; i++ {
			g, w = g+got[i], w+want[i]
		}
		if db := spectrum.PowerToDB(g / w); math.Abs(db) > toleranceDB {
			t.Errorf("%.0f Hz: %.2f dB from the voice as it is in the mix", spectrum.CentreHz(b), db)
		}
	}
}

func TestCoherentPowerRefuses(t *testing.T) {
	x, y := audiotest.Noise(1, 44100, 6, -20), audiotest.Noise(2, 44100, 6, -20)
	for want, track := range map[string]*memory.Sound{
		"is sampled at 48 kHz, the mix at 44.1 kHz": {RateHz: 48000, X: x},
		"is not to be found in the mix":             {RateHz: 44100, X: audio.NewBlock(1, 6*44100)},
	} {
		_, err := CoherentPower(context.Background(), track, &memory.Sound{RateHz: 44100, X: y}, "v.wav")
		var e *audio.Error
		if !errors.As(err, &e) || !strings.HasPrefix(e.Problem, want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}

func measured(t *testing.T, rateHz int, x [][]float64) *measure.Recording {
	t.Helper()
	r, err := measure.Measure(context.Background(), &memory.Sound{RateHz: rateHz, X: x}, "a.wav")
	if err != nil {
		t.Fatal(err)
	}
	return r
}
