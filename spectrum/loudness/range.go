package loudness

import (
	"math"
	"slices"
)

const (
	// shortTermSteps make a short-term block of 3 s (EBU Tech 3341, Tech 3342).
	// One starts at every step: Tech 3342 has the short-term loudness renewed at
	// 10 Hz or more (from memory; its first edition asked for 1 Hz).
	shortTermSteps = 3 * StepsPerSecond

	rangeLow, rangeHigh = 0.10, 0.95 // Tech 3342: share of the blocks below
)

// Range returns the loudness range in LU of a recording given its power per 100 ms
// step: how far the short-term loudness spreads, from the 10th to the 95th
// percentile of the 3 s blocks above −70 LUFS and then within −20 LU of the mean of
// those. It is 0 when no block passes, so for silence and for less than 3 s.
//
// A percentile is the block nearest to that place in the sorted row (from memory:
// Tech 3342's own program rounds so).
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
