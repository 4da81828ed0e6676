package loudness

import (
	"math"
	"testing"
)

// EBU Tech 3341, signals 9, 10, 12 and 13 (from memory), stereo 1 kHz sines whose
// largest short-term or momentary loudness is −23 LUFS within ±0.1 LU.
func TestMaxima(t *testing.T) {
	const (
		toleranceLU = 0.05 // half of it
		fullLU      = 0.1  // where 3 s lie 50 ms off the grid, which costs 0.07
	)
	silence := func(seconds float64) tone { return both(seconds, math.Inf(-1)) }
	var nine, twelve []tone
	for range 5 {
		nine = append(nine, both(1.34, -20), both(1.66, -30))
	}
	for range 25 {
		twelve = append(twelve, both(0.18, -20), both(0.22, -30))
	}
	for _, c := range []struct {
		name      string
		max       func([]float64) float64
		tones     []tone
		tolerance float64
	}{
		{"9", ShortTermMax, nine[1:], toleranceLU}, // the first tone hits a filter at rest
		{"10, on the grid", ShortTermMax, []tone{silence(0.3), both(3, -23), silence(1)}, toleranceLU},
		{"10, off the grid", ShortTermMax, []tone{silence(0.15), both(3, -23), silence(1)}, fullLU},
		{"12", MomentaryMax, twelve[1:], toleranceLU},
		{"13, on the grid", MomentaryMax, []tone{silence(0.2), both(0.4, -23), silence(1)}, toleranceLU},
	} {
		for _, rate := range []float64{48000, 44100, 96000} {
			if got := c.max(stepsOf(rate, 1000, c.tones, 4096)); !(math.Abs(got+23) <= c.tolerance) {
				t.Errorf("signal %s at %g Hz: got %.3f LUFS, want −23 ± %g", c.name, rate, got, c.tolerance)
			}
		}
	}
}

func TestMaximaOfSteps(t *testing.T) {
	steps := make([]float64, 100)
	steps[50] = 1
	for _, c := range []struct {
		name string
		got  float64
		want float64
	}{
		{"one loud step, momentary", MomentaryMax(steps), LUFS(1. / 4)},
		{"one loud step, short-term", ShortTermMax(steps), LUFS(1. / 30)},
		{"the last step counts", MomentaryMax(steps[:51]), LUFS(1. / 4)},
		{"no 400 ms", MomentaryMax([]float64{1, 1, 1}), math.Inf(-1)},
		{"no 3 s", ShortTermMax(steps[40:69]), math.Inf(-1)},
		{"silence", ShortTermMax(steps[:50]), math.Inf(-1)},
	} {
		if c.got != c.want {
			t.Errorf("%s: got %v LUFS, want %v", c.name, c.got, c.want)
		}
	}
}
