package loudness

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
)

const (
	// StepsPerSecond is the number of steps per second, of 100 ms each, for which
	// powers are kept: a gating block starts at every step (BS.1770-4: 75 % overlap).
	StepsPerSecond = 10
	// StepsPerBlock is the number of steps in a gating block of 400 ms.
	StepsPerBlock = 4

	absoluteGateLUFS = -70 // BS.1770-4, Γ_a
	relativeGateLU   = -10 // BS.1770-4, Γ_r
	// RangeGateLU is the relative gate of EBU Tech 3342, which keeps the quiet parts of music.
	RangeGateLU = -20
	// offsetLUFS gives a full-scale 997 Hz sine in one channel a loudness of −3.01 LUFS
	// (BS.1770-4, equation 2).
	offsetLUFS = -0.691
)

// LUFS returns the loudness of a K-weighted, channel-weighted mean square, full scale ±1:
// −0.691 + 10·log10(power), −Inf for 0.
func LUFS(power float64) float64 { return offsetLUFS + 10*math.Log10(power) }

// HeardDB returns by how many dB a recording of this many channels is heard louder than BS.1770
// has it: 10·log10(2) for a single channel, which both loudspeakers play; else 0.
func HeardDB(channels int) float64 {
	if channels == 1 {
		return 10 * math.Log10(2)
	}
	return 0
}

// Integrated returns the integrated loudness in LUFS of a recording given its power per
// 100 ms step, see [Meter.Steps]. It is the mean over the 400 ms blocks that are above
// −70 LUFS and also above the mean of all such blocks minus 10 LU. It is −Inf if no block
// passes.
// Source: ITU-R BS.1770-4, equations 3 to 7.
func Integrated(steps []float64) float64 {
	blocks := blockPowers(steps, StepsPerBlock)
	return LUFS(meanOf(blocks, gate(blocks, relativeGateLU)))
}

// Gate reports for each 400 ms block, starting at step 0, 1, 2…, whether it passes the
// gate: it is above −70 LUFS and also above the mean of all such blocks plus relativeLU,
// which is below 0. The result has StepsPerBlock−1 entries fewer than steps, or none.
// Source: ITU-R BS.1770-4 with −10 LU, EBU Tech 3342 with −20 LU.
func Gate(steps []float64, relativeLU float64) []bool {
	return gate(blockPowers(steps, StepsPerBlock), relativeLU)
}

func gate(blocks []float64, relativeLU float64) []bool {
	passes := make([]bool, len(blocks))
	for i, p := range blocks {
		passes[i] = LUFS(p) > absoluteGateLUFS
	}
	threshold := LUFS(meanOf(blocks, passes)) + relativeLU
	for i, p := range blocks {
		passes[i] = passes[i] && LUFS(p) > threshold
	}
	return passes
}

// blockPowers returns the mean power of each whole block of perBlock steps, starting at
// step 0, 1, 2…
func blockPowers(steps []float64, perBlock int) []float64 {
	if len(steps) < perBlock {
		return nil
	}
	blocks := make([]float64, len(steps)-perBlock+1)
	for i := range blocks {
		blocks[i] = stat.Mean(steps[i:i+perBlock], nil)
	}
	return blocks
}

// meanOf returns the mean of the blocks that pass, 0 if none does.
func meanOf(blocks []float64, passes []bool) float64 {
	sum, n := 0.0, 0
	for i, p := range blocks {
		if passes[i] {
			sum, n = sum+p, n+1
		}
	}
	return sum / float64(max(1, n))
}

// MomentaryMax returns the largest loudness in LUFS of any 400 ms, without a gate,
// given the power per 100 ms step. It is −Inf for silence and for less than 400 ms.
//
// The 400 ms start at whole steps. A sound that lasts only 400 ms and starts between two
// steps reads up to 0.58 LU low, more than the 0.1 LU that Tech 3341 allows for its signal
// 13. The results of five songs, moved by 0 to 90 ms, differ by 0.09 to 0.36 LU.
// Source: EBU Tech 3341, momentary loudness.
func MomentaryMax(steps []float64) float64 { return loudestBlock(steps, StepsPerBlock) }

// ShortTermMax returns the largest loudness in LUFS of any 3 s, without a gate,
// given the power per 100 ms step. It is −Inf for silence and for less than 3 s.
// A sound that lasts only 3 s reads up to 0.07 LU low, for the reason given at
// [MomentaryMax]; the results of the five songs differ by at most 0.03 LU.
// Source: EBU Tech 3341, short-term loudness.
func ShortTermMax(steps []float64) float64 { return loudestBlock(steps, shortTermSteps) }

func loudestBlock(steps []float64, perBlock int) float64 {
	return LUFS(slices.Max(append(blockPowers(steps, perBlock), 0)))
}

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
