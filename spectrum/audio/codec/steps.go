package codec

import (
	"math"
	"math/rand/v2"
)

// Steps converts x, full scale ±1, to an integer sample of the given number of bits. It adds ditherSteps, a number of
// steps, rounds to the nearest integer, halves to even, and clamps to −2^(bits−1) … 2^(bits−1)−1.
func Steps(x float64, bits int, ditherSteps float64) int32 {
	full := float64(int64(1) << (bits - 1))
	return int32(min(max(math.RoundToEven(x*full+ditherSteps), -full), full-1))
}

// Dither generates noise of triangular density, the sum of two uniform ones each a step wide: within ±1 step, of variance
// 1/6. Added before rounding, it makes the mean and power of the rounding error independent of the sound, so that soft
// sound fades into noise instead of distortion. Source: S. Lipshitz, R. Wannamaker, J. Vanderkooy, Quantization and
// Dither: A Theoretical Survey, JAES 40 (1992), from memory. A nil Dither adds nothing.
type Dither struct{ source rand.PCG }

// NewDither returns the dither of a seed; the same seed gives the same values.
func NewDither(seed uint64) *Dither { return &Dither{*rand.NewPCG(seed, 0)} }

// Next returns the next value in steps, 0 for a nil Dither. The two halves of one random number are the two summands.
func (d *Dither) Next() float64 {
	if d == nil {
		return 0
	}
	v := d.source.Uint64()
	const perStep = 1.0 / (1 << 32)
	return float64(v>>32)*perStep + float64(uint32(v))*perStep - 1
}
