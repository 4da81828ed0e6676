package listen_test

import (
	"context"
	"fmt"
	"log"
	"math"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/match/listen"
)

// The impulse response of a move, of which any convolution makes use.
func Example() {
	moves := &document.Settings{RateHz: 48000, Moves: []biquad.Filter{{Shape: biquad.Bell, FreqHz: 1000, GainDB: 6, Q: 1}}}
	sum := 0.0 // the response at 0 Hz, where a bell does nothing
	frames, err := listen.Impulse(context.Background(), moves, 48000, func(block [][]float64) error {
		for _, x := range block[0] {
			sum += x
		}
		return nil
	})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(frames > 0, math.Abs(sum-1) < 1e-4)
	// Output: true true
}
