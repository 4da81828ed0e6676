package training

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"toneplumb/biquad"
)

// What the page hides is as loud as the plain excerpt once it is turned as the list says; all
// places of tasks are there, but for zones without music. An answer sounds like itself, and a
// tilt like the one at its other end turned over.
func TestPractice(t *testing.T) {
	const rate = 44100
	const toleranceLU = 0.2 // the mean spectrum, which ends at 20 kHz, against gated loudness
	rng := rand.New(rand.NewPCG(1, 2))
	x, low := make([]float64, 6*rate), 0.0
	for i := range x {
		low += 0.1 * (rng.NormFloat64() - low)
		x[i] = 0.05 * (low + 0.02*rng.NormFloat64())
	}
	e := &Excerpt{RateHz: rate, Sound: [][]float64{x}}
	p := e.Hearing().Practice()
	if len(p.Places) != len(places) {
		t.Fatalf("%d places, want %d", len(p.Places), len(places))
	}
	plain, _ := e.measured(e.Sound)
	for i, at := range p.Places {
		for _, m := range at.Moves {
			if !slices.Contains(m.Same, i+1) {
				t.Errorf("%s in the %s does not sound like itself: %v", at.Shape, at.Zone, m.Same)
			}
		}
		for _, sign := range []float64{1, -1} {
			turned := map[float64][]float64{1: at.Moves[0].UpDB, -1: at.Moves[0].DownDB}[sign]
			got, _ := e.measured(e.through([]biquad.Filter{practiceFilter(places[i].shape, at.Moves[0].FreqHz, sign*8)}, turned[15]))
			if math.Abs(got-plain) > toleranceLU {
				t.Errorf("%s in the %s %+g dB: %.2f LU louder", at.Shape, at.Zone, sign*8, got-plain)
			}
		}
	}
	tilt := func(shape biquad.Shape, zone string) int {
		return 1 + slices.IndexFunc(p.Places, func(at PracticePlace) bool { return at.Shape == shape && at.Zone == zone })
	}
	if low, high := tilt(biquad.LowShelf, "mids"), tilt(biquad.HighShelf, "mids"); !slices.Contains(p.Places[low-1].Moves[0].Same, -high) {
		t.Errorf("a low shelf in the mids sounds like %v, not like the high shelf, %d, turned over", p.Places[low-1].Moves[0].Same, high)
	}
	for _, at := range newHearing(music(160, 5000), rate).Practice().Places {
		if at.Zone == "sub" || at.Zone == "air" {
			t.Errorf("a %s in the %s, where there is no music", at.Shape, at.Zone)
		}
	}
}
