package measure

import (
	"math"

	"toneplumb/spectrum"
)

// A lossy encoder's low-pass shows as a fall of at least cutoffFallDB within
// cutoffWidthHz above cutoffFromHz, in the density smoothed over cutoffSmoothHz,
// after which nothing comes back. Our choice: music and the filters of equalisers
// fall far more slowly. Tried on drawn spectra in the tests and on coded songs; its
// bars over many codings are still to be held.
const (
	cutoffFallDB   = 15
	cutoffWidthHz  = 600
	cutoffFromHz   = 6000
	cutoffSmoothHz = 150

	// Above these the fall is that of any converter's or resampler's filter.
	cutoffToHz    = 20500
	cutoffToShare = 0.465 // of the rate
)

// cutoff returns the frequency in Hz at which a steep low-pass ends the density,
// power per Hz at multiples of stepHz; 0 if there is none. It is the middle of
// the fall: half its dB.
func cutoff(density []float64, stepHz float64) float64 {
	level := smoothedDB(density, int(cutoffSmoothHz/stepHz/2))
	width := int(cutoffWidthHz / stepHz)
	above := highestFrom(level)
	top := math.Min(cutoffToHz/stepHz, cutoffToShare*2*float64(len(density)-1))
	for k := int(cutoffFromHz / stepHz); k < min(int(top), len(level)-width); k++ {
		before := meanOf(level[k-width : k+1])
		after := above[k+width]
		if before-after < cutoffFallDB {
			continue
		}
		fall := k
		for level[fall] > before-cutoffFallDB/2 {
			fall++
		}
		if fall > int(top) {
			return 0
		}
		return float64(fall) * stepHz
	}
	return 0
}

// smoothedDB returns the level in dB of the mean density over ±reach bins.
func smoothedDB(density []float64, reach int) []float64 {
	const floor = 1e-30 // −300 dB: keeps silence finite
	level := make([]float64, len(density))
	for k := range level {
		near := density[max(0, k-reach):min(len(density), k+reach+1)]
		level[k] = spectrum.PowerToDB(math.Max(meanOf(near), floor))
	}
	return level
}

// highestFrom returns for each index the largest value from there on.
func highestFrom(x []float64) []float64 {
	highest := make([]float64, len(x))
	top := math.Inf(-1)
	for i := len(x) - 1; i >= 0; i-- {
		top = math.Max(top, x[i])
		highest[i] = top
	}
	return highest
}

func meanOf(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}
