package audiotest

import (
	"math"
	"math/rand/v2"

	"toneplumb/spectrum/audio/codec"
)

// Noise returns that many seconds of partly correlated stereo noise, [channel][frame], in phrases of half a second, which
// are up to 6 dB below a level of db.
func Noise(seed uint64, rateHz int, seconds, db float64) [][]float64 {
	rng := rand.New(rand.NewPCG(seed, 5))
	x := codec.NewBlock(2, int(seconds*float64(rateHz)))
	gain := math.Pow(10, db/20)
	phrase := gain
	for i := range x[0] {
		if i%(rateHz/2) == 0 {
			phrase = gain * math.Pow(10, -6*rng.Float64()/20)
		}
		both := rng.NormFloat64()
		x[0][i] = phrase * (both + 0.5*rng.NormFloat64())
		x[1][i] = phrase * (both + 0.5*rng.NormFloat64())
	}
	return x
}
