package probe_test

import (
	"fmt"

	"toneplumb/biquad"
	"toneplumb/match/probe"
)

// What is to be printed of an equaliser, and how a print and a filter are called.
func Example() {
	first := probe.Plan()[0]
	fmt.Println(first.Number, first.Flat, len(probe.Plan()))
	fmt.Println(probe.NumberOf("prints/print-07.wav"))
	fmt.Println(probe.FilterWords(biquad.Filter{Shape: biquad.Bell, FreqHz: 1000, GainDB: -3, Q: 1.4}))
	// Output:
	// 1 true 13
	// 7
	// 1 kHz −3.0 dB Q 1.40
}
