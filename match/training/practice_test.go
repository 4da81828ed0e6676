package training

import (
	"math"
	"math/rand/v2"
	"testing"

	"toneplumb/biquad"
)

// A bell that the page hides is as loud as the plain excerpt once it is turned as the list says,
// and zones without music have none.
func TestPractice(t *testing.T) {
	const rate = 44100
	const toleranceLU = 0.1 // the mean spectrum against gated loudness
	rng := rand.New(rand.NewPCG(1, 2))
	x, low := make([]float64, 6*rate), 0.0
	for i := range x {
		low += 0.1 * (rng.NormFloat64() - low)
		x[i] = 0.05 * (low + 0.1*rng.NormFloat64())
	}
	e := &Excerpt{RateHz: rate, Sound: [][]float64{x}}
	p := e.Hearing().Practice()
	if len(p.Zones) != 7 {
		t.Fatalf("%d zones", len(p.Zones))
	}
	plain, _ := e.measured(e.Sound)
	for _, z := range p.Zones {
		for _, sign := range []float64{1, -1} {
			turned := map[float64][]float64{1: z.Up, -1: z.Down}[sign]
			f := biquad.Filter{Shape: biquad.Bell, FreqHz: z.FreqHz, Q: p.Q, GainDB: sign * 8}
			got, _ := e.measured(e.through([]biquad.Filter{f}, turned[15]))
			if math.Abs(got-plain) > toleranceLU {
				t.Errorf("%s %+g dB: %.2f LU louder", z.Name, f.GainDB, got-plain)
			}
		}
	}
	for _, z := range newHearing(music(160, 5000), rate).Practice().Zones {
		if z.Name == "sub" || z.Name == "air" {
			t.Errorf("a bell in the %s, where there is no music", z.Name)
		}
	}
}
