package fit_test

import (
	"fmt"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
)

// The curve of a shelf and a bell gives back those two moves, on the default equaliser's dials.
func Example() {
	var freqHz, weight []float64
	for f := 40.0; f < 16000; f *= 1.06 {
		freqHz, weight = append(freqHz, f), append(weight, 1)
	}
	target := biquad.ResponseDB(nil, []biquad.Filter{
		{Shape: biquad.LowShelf, FreqHz: 118, GainDB: 3, Q: 0.7},
		{Shape: biquad.Bell, FreqHz: 440, GainDB: -2.6, Q: 0.8},
	}, freqHz, 44100)

	problem := fit.Problem{FreqHz: freqHz, TargetDB: target, Weight: weight, RateHz: 44100, Equaliser: fit.Default()}
	solutions := fit.Search(problem, 2)
	moves := fit.Round(problem, solutions[2])
	for _, f := range moves.Filters {
		fmt.Printf("%v %g Hz %+.1f dB\n", f.Shape, f.FreqHz, f.GainDB)
	}
	// Output:
	// low-shelf 118 Hz +3.0 dB
	// bell 450 Hz -2.5 dB
}
