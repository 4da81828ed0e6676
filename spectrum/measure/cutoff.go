package measure

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"toneplumb/spectrum"
)

// A lossy encoder's low-pass shows as a fall of at least cutoffFallDB within
// cutoffWidthHz, somewhere above cutoffFromHz, in the density smoothed over cutoffSmoothHz,
// above which the level stays down. Our choice: music and the filters of equalisers fall
// far more slowly. TestCutoffs in match/cli checks it on MP3, AAC, Vorbis and Opus at 64
// kbit/s and above.
const (
	cutoffFallDB   = 15
	cutoffWidthHz  = 600
	cutoffFromHz   = 6000
	cutoffSmoothHz = 150

	// A fall above cutoffToHz is ignored. It affects at most a third of the highest band,
	// which ends at 19.95 kHz, and players of sampled sound have falls of their own from
	// 19.9 kHz on. Our choice: between LAME's low-pass at 256 kbit/s, 19.4 kHz, and at 320
	// kbit/s, 20.1 kHz.
	cutoffToHz = 19750

	// A fall above cutoffToShare of the sample rate is that of a converter's or resampler's
	// filter. Our choice: above LAME's low-pass at 96 kbit/s, 15.1 of 32 kHz (0.472), and
	// below the end of the passband of sox's resampler, 0.475.
	cutoffToShare = 0.4725
)

// Short windows, which an encoder uses for attacks, reach above its low-pass: up to 0.8 kHz
// in TestCutoffs. If attacks dominate the highest frequencies, the mean density falls only
// there. The sound between attacks falls at the low-pass itself.
const (
	// attackReachHz bounds how far above the low-pass the mean density may fall. Our choice:
	// half as much again as was measured, since the steady density may fall a little early.
	attackReachHz = 1200

	// steadyFallDB is the fall that is required of the steady density. Our choice: MP3 at
	// 128 and 160 kbit/s leaves out everything above 16 kHz from time to time, which is a
	// smaller fall. 25 dB does equally well; 15 or 30 dB misses one song in ten.
	steadyFallDB = 20
)

// cutoff returns the frequency in Hz at which a steep low-pass ends the sound; 0 if
// there is none. The sound between attacks is used only to refine what the mean density
// shows.
func cutoff(a *spectrum.Analyser) float64 {
	density, stepHz := a.Density()
	hz := fall(density, stepHz, cutoffFromHz, cutoffFallDB)
	if hz == 0 {
		return 0
	}
	density, stepHz = a.SteadyDensity()
	lowest := hz - attackReachHz
	if steady := fall(density, stepHz, lowest-cutoffWidthHz, steadyFallDB); steady >= lowest {
		return math.Min(steady, hz)
	}
	return hz
}

// fall returns the frequency in Hz, at least fromHz, where the density first falls by fallDB
// within cutoffWidthHz and stays down; 0 if it does not. density is power per Hz at
// multiples of stepHz. The frequency is the one at which half of fallDB is reached.
func fall(density []float64, stepHz, fromHz, fallDB float64) float64 {
	level := smoothedDB(density, int(cutoffSmoothHz/stepHz/2))
	width := int(math.Round(cutoffWidthHz / stepHz))
	above := largestFrom(level)
	top := math.Min(cutoffToHz/stepHz, cutoffToShare*2*float64(len(density)-1))
	for k := max(width, int(fromHz/stepHz)); k < min(int(top), len(level)-width); k++ {
		before := stat.Mean(level[k-width:k+1], nil)
		after := above[k+width]
		if before-after < fallDB {
			continue
		}
		at := k
		for level[at] > before-fallDB/2 {
			at++
		}
		if at > int(top) {
			return 0
		}
		return float64(at) * stepHz
	}
	return 0
}

// smoothedDB returns the level in dB of the mean density over ±reach bins.
func smoothedDB(density []float64, reach int) []float64 {
	const floor = 1e-30 // −300 dB: keeps silence finite
	level := make([]float64, len(density))
	for k := range level {
		near := density[max(0, k-reach):min(len(density), k+reach+1)]
		level[k] = spectrum.PowerToDB(math.Max(stat.Mean(near, nil), floor))
	}
	return level
}

// largestFrom returns for each index the largest value of x from that index on.
func largestFrom(x []float64) []float64 {
	highest := make([]float64, len(x))
	top := math.Inf(-1)
	for i := len(x) - 1; i >= 0; i-- {
		top = math.Max(top, x[i])
		highest[i] = top
	}
	return highest
}
