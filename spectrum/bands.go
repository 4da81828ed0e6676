// Package spectrum measures band powers of sound blocks and smooths levels
// over fractions of an octave. It takes and returns numbers only.
//
// Most callers make an analyser with [NewAnalyser] and call [Analyser.Add] for every
// block; they receive [Bands] for each window of 1/3 s, six per second. A [Smoother] then
// averages levels in dB over a fraction of an octave.
//
// Limits: rates of 8 to 192 kHz; frequencies of 20 Hz to 20 kHz; the first two
// channels of each block.
//
// It imports no other package of toneplumb.
package spectrum

import (
	"math"
	"slices"
)

const (
	// BandCount is the number of bands, which adjoin from 19.953 Hz to 19.953 kHz.
	BandCount = 240
	// BandsPerOctave is the band-width designator b of IEC 61260-1.
	BandsPerOctave = 24
	// firstBand is the index k of the lowest band, counted from 1 kHz. Our
	// choice: with −136…103, eight bands make up each third-octave band and 24 each
	// octave band of IEC 61260-1, from the upper half of the third-octave band at 20 Hz
	// to the lower half of the one at 20 kHz.
	firstBand = -136
)

// CentreHz returns the exact mid-band frequency of a band, 0 ≤ band < BandCount:
//
//	1000·G^((2k+1)/48) = 1000·10^((2k+1)/160),  G = 10^0.3,  k = band − 136
//
// Source: IEC 61260-1:2014, 5.2 and 5.3 for an even designator (from memory;
// its octave ratio G is the base-ten one).
func CentreHz(band int) float64 { return centres[band] }

var centres = func() (hz [BandCount]float64) {
	for band := range hz {
		hz[band] = 1000 * math.Pow(10, float64(2*(band+firstBand)+1)/160)
	}
	return hz
}()

// EdgeHz returns the frequency of an edge between bands, 0 ≤ edge ≤ BandCount:
// 1000·G^(k/24) with k = edge − 136. Band i reaches from EdgeHz(i) to EdgeHz(i+1).
// Source: as for [CentreHz].
func EdgeHz(edge int) float64 {
	return 1000 * math.Pow(10, float64(edge+firstBand)/80)
}

// Centres returns the centre frequencies of all bands in Hz, lowest first.
func Centres() []float64 { return slices.Clone(centres[:]) }

// PowerToDB returns 10·log10(power); −Inf for 0. Power is amplitude squared,
// relative to full scale ±1, so a full-scale sine (power 1/2) is −3.01 dB.
func PowerToDB(power float64) float64 { return 10 * math.Log10(power) }

// DBToPower is the inverse of [PowerToDB].
func DBToPower(db float64) float64 { return math.Pow(10, db/10) }

// AmpToDB returns 20·log10(amp); −Inf for 0. Amp is linear, and so is a gain.
func AmpToDB(amp float64) float64 { return 20 * math.Log10(amp) }

// DBToAmp is the inverse of [AmpToDB].
func DBToAmp(db float64) float64 { return math.Pow(10, db/20) }
