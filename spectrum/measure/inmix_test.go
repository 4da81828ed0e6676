package measure

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
)

// A voice with an equaliser of its own in the mix, under other music.
func TestInMix(t *testing.T) {
	const (
		rate = 44100
		// 40 s of noise as loud as the voice: a third octave is known to 0.3 dB.
		toleranceDB = 0.6
	)
	voice, rest := noise(1, rate, 40, -20), noise(2, rate, 40, -20)
	voice[1] = voice[0] // a single track, in the middle
	inside := [][]float64{append([]float64(nil), voice[0]...), append([]float64(nil), voice[1]...)}
	biquad.NewCascade([]biquad.Filter{{Shape: biquad.Bell, FreqHz: 1000, GainDB: 6, Q: 1}}, rate, 2).Run(inside)
	mix := audio.NewBlock(2, len(voice[0]))
	for c := range mix {
		for i := range mix[c] {
			mix[c][i] = inside[c][i] + rest[c][i]
		}
	}
	got, err := CoherentPower(context.Background(), &memory{rateHz: rate, x: voice}, &memory{rateHz: rate, x: mix, most: 777}, "v.wav")
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

func TestInMixRefuses(t *testing.T) {
	x, y := noise(1, 44100, 6, -20), noise(2, 44100, 6, -20)
	for want, track := range map[string]*memory{
		"is sampled at 48 kHz, the mix at 44.1 kHz": {rateHz: 48000, x: x},
		"is not to be found in the mix":             {rateHz: 44100, x: audio.NewBlock(1, 6*44100)},
	} {
		_, err := CoherentPower(context.Background(), track, &memory{rateHz: 44100, x: y}, "v.wav")
		var e *audio.Error
		if !errors.As(err, &e) || !strings.HasPrefix(e.Problem, want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}
