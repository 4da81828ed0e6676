package biquad_test

import (
	"fmt"

	"toneplumb/biquad"
)

// The response of two moves at three frequencies.
func ExampleResponseDB() {
	moves := []biquad.Filter{
		{Shape: biquad.LowShelf, FreqHz: 100, GainDB: 3, Q: biquad.QFromSlope(1, 3)},
		{Shape: biquad.Bell, FreqHz: 1000, GainDB: -2, Q: 1},
	}
	for i, db := range biquad.ResponseDB(nil, moves, []float64{50, 100, 1000}, 48000) {
		fmt.Printf("%d: %+.2f dB\n", i, db)
	}
	// Output:
	// 0: +2.82 dB
	// 1: +1.48 dB
	// 2: -2.00 dB
}

// Sound passes in blocks; the state carries over.
func ExampleCascade() {
	halver := biquad.NewCascadeOf([]biquad.Coeffs{{B0: 0.5, B1: 0.5}}, 1)
	for _, block := range [][][]float64{{{1, 0}}, {{0, 1}}, {{1}}} {
		halver.Run(block)
		fmt.Println(block)
	}
	// Output:
	// [[0.5 0.5]]
	// [[0 0.5]]
	// [[1]]
}
