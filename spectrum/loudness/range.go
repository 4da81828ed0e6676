package loudness

import (
	"math"
	"slices"
)

const (
	// shortTermSteps is the number of steps in a short-term block of 3 s (EBU Tech 3341,
	// Tech 3342). A block starts at every step: Tech 3342 asks for short-term loudness to be
	// updated at 10 Hz or more (from memory; its first edition asked for 1 Hz).
	shortTermSteps = 3 * StepsPerSecond

	rangeLow, rangeHigh = 0.10, 0.95 // Tech 3342: the percentiles
)

// Range returns the loudness range in LU of a recording given its power per 100 ms
// step: the distance from the 10th to the 95th percentile of short-term loudness. Counted
// are the 3 s blocks that are above −70 LUFS and also above the mean of all such blocks
// minus 20 LU. It is 0 if no block passes, so also for silence and for less than 3 s.
//
// A percentile is the loudness of the block nearest to that place in sorted order (from
// memory: the program in Tech 3342 rounds in this way).
// Source: EBU Tech 3342.
func Range(steps []float64) float64 {
	blocks := blockPowers(steps, shortTermSteps)
	passes := gate(blocks, RangeGateLU)
	passed := blocks[:0]
	for i, p := range blocks {
		if passes[i] {
			passed = append(passed, p)
		}
	}
	if len(passed) == 0 {
		return 0
	}
	slices.Sort(passed)
	at := func(share float64) float64 {
		return passed[int(math.Round(share*float64(len(passed)-1)))]
	}
	return LUFS(at(rangeHigh)) - LUFS(at(rangeLow))
}
