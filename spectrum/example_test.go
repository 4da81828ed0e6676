package spectrum_test

import (
	"fmt"
	"math"

	"toneplumb/spectrum"
)

// A tone in the middle of a band, and its mean power: half the square of its amplitude.
func ExampleNewAnalyser() {
	const rateHz, band = 48000, 140
	toneHz := spectrum.CentreHz(band)
	x := make([]float64, 5*rateHz)
	for i := range x {
		x[i] = 0.5 * math.Sin(2*math.Pi*toneHz*float64(i)/rateHz)
	}
	var power [spectrum.BandCount]float64
	windows := 0
	analyser := spectrum.NewAnalyser(rateHz, 1, func(_ int, b *spectrum.Bands) {
		windows++
		for i, p := range b.Power {
			power[i] += p
		}
	})
	analyser.Add([][]float64{x})

	loudest := 0
	for band, p := range power {
		if p > power[loudest] {
			loudest = band
		}
	}
	fmt.Printf("%.0f Hz: %.1f dB\n", spectrum.CentreHz(loudest), spectrum.PowerToDB(power[loudest]/float64(windows)))
	// Output: 1138 Hz: -9.0 dB
}
