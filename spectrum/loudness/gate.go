package loudness

import "math"

const (
	// StepsPerSecond is the grid on which powers are kept: gating blocks of
	// 400 ms start every 100 ms (BS.1770-4: 75 % overlap).
	StepsPerSecond = 10
	// StepsPerBlock steps make a gating block of 400 ms.
	StepsPerBlock = 4

	absoluteGateLUFS = -70 // BS.1770-4, Γ_a
	relativeGateLU   = -10 // BS.1770-4, Γ_r
	// RangeGateLU is the relative gate of EBU Tech 3342, for music's quiet parts.
	RangeGateLU = -20
	// offsetLUFS makes a full-scale 997 Hz sine in one channel read −3.01 LUFS
	// (BS.1770-4, equation 2).
	offsetLUFS = -0.691
)

// LUFS returns the loudness of a K-weighted, channel-weighted mean square:
// −0.691 + 10·log10(power), −Inf for 0.
func LUFS(power float64) float64 { return offsetLUFS + 10*math.Log10(power) }

// Integrated returns the loudness in LUFS of a recording given its power per
// 100 ms step: the mean over the 400 ms blocks above −70 LUFS and then within
// −10 LU of the mean of those. It is −Inf when no block passes.
// Source: ITU-R BS.1770-4, equations 3 to 7.
func Integrated(steps []float64) float64 {
	blocks := blockPowers(steps, StepsPerBlock)
	return LUFS(meanOf(blocks, gate(blocks, relativeGateLU)))
}

// Gate tells for each 400 ms block, starting at step 0, 1, 2…, whether it passes
// −70 LUFS and lies within relativeLU (below 0) of the mean of those that do. It
// has StepsPerBlock−1 entries fewer than steps, or none.
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

// blockPowers returns the power of each whole block of perBlock steps, starting at
// step 0, 1, 2…
func blockPowers(steps []float64, perBlock int) []float64 {
	if len(steps) < perBlock {
		return nil
	}
	blocks := make([]float64, len(steps)-perBlock+1)
	for i := range blocks {
		sum := 0.0
		for _, p := range steps[i : i+perBlock] {
			sum += p
		}
		blocks[i] = sum / float64(perBlock)
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
