package listen

import (
	"context"
	"math"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/memory"
)

// impulse returns the whole impulse response.
func impulse(t *testing.T, s *document.Settings, rateHz float64) []float64 {
	t.Helper()
	var h []float64
	n, err := Impulse(context.Background(), s, rateHz, func(block [][]float64) error {
		h = append(h, block[0]...)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if n != int64(len(h)) {
		t.Errorf("%d frames told, %d handed out", n, len(h))
	}
	return h
}

// Convolution of a mix with the impulse response, summed directly, gives what Render gives.
// So does that of a steady tone at a narrow move's own frequency, which depends most on the
// omitted rest of the response.
func TestImpulseIsTheMoves(t *testing.T) {
	const toleranceDB = -110
	const rate = 44100
	narrow := settings(0, biquad.Filter{Shape: biquad.Bell, FreqHz: 100, GainDB: 6, Q: 10})
	tone := audio.NewBlock(1, 2*rate)
	for i := range tone[0] {
		tone[0][i] = math.Sin(2 * math.Pi * 100 * float64(i) / rate)
	}
	cuts := settings(2, biquad.Filter{Shape: biquad.LowCut, FreqHz: 30, CutDBPerOct: 24}, biquad.Filter{Shape: biquad.HighCut, FreqHz: 15000, CutDBPerOct: 48})
	for _, c := range []struct {
		name string
		s    *document.Settings
		x    []float64
	}{
		{"broad", several(), noise(1, rate, 0.5)[0]},
		{"cuts", cuts, noise(1, rate, 0.5)[0]},
		{"narrow, on its tone", narrow, tone[0]},
	} {
		h := impulse(t, c.s, rate)
		want, _ := rendered(t, &memory.Sound{RateHz: rate, X: [][]float64{c.x}}, c.s)
		var got, at []float64
		for i := 0; i < len(c.x); i += 41 { // a prime, so that no period hides
			sum := 0.0
			for k := range min(i+1, len(h)) {
				sum += float64(float32(h[k])) * c.x[i-k] // as the file has it
			}
			got, at = append(got, sum), append(at, want[0][i])
		}
		db := rmsDB(got, at)
		t.Logf("%s: %d frames, %.1f dB", c.name, len(h), db)
		if !(db <= toleranceDB) {
			t.Errorf("%s: %d frames of impulse response are %.1f dB from the render, want ≤ %d", c.name, len(h), db, toleranceDB)
		}
	}
}

// The length of a response, which is no longer than needed.
func TestImpulseLength(t *testing.T) {
	if h := impulse(t, settings(-6), 48000); len(h) != 1 || math.Abs(h[0]-0.501187) > 1e-6 { // 10^(−6/20)
		t.Errorf("no moves: %v, want one frame of 0.501187", h)
	}
	for _, c := range []struct {
		name string
		s    *document.Settings
		rate float64
		sec  float64 // most
	}{
		{"usual moves", several(), 44100, 0.1},
		{"usual moves at 192 kHz", several(), 192000, 0.1},
		{"narrowest dial", settings(0, biquad.Filter{Shape: biquad.Bell, FreqHz: 40, GainDB: 6, Q: 4}), 48000, 1},
		{"Q 50 at 10 Hz", settings(0, biquad.Filter{Shape: biquad.Bell, FreqHz: 10, GainDB: 6, Q: 50}), 8000, 40},
	} {
		h := impulse(t, c.s, c.rate)
		peak, after := 0.0, 0.0
		for i, v := range h {
			peak = max(peak, math.Abs(v))
			if i >= len(h)-int(c.rate/200) {
				after = max(after, math.Abs(v))
			}
		}
		t.Logf("%s: %d frames, %.3f s", c.name, len(h), float64(len(h))/c.rate)
		if sec := float64(len(h)) / c.rate; sec > c.sec {
			t.Errorf("%s: %.3f s, want at most %g", c.name, sec, c.sec)
		}
		if after > 2e-6*peak { // the end is soft: −114 dB in its last 5 ms
			t.Errorf("%s: ends at %g of its peak", c.name, after/peak)
		}
	}
}
