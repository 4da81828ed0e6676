package loudness

import (
	"math"
	"slices"

	"toneplumb/biquad"
)

// The K-weighting of ITU-R BS.1770-4, tables 1 and 2, for 48 kHz: a shelf for
// the effect of the head and a high-pass. The tests check the response at four
// frequencies.
var (
	headShelf48k = biquad.Coeffs{
		B0: 1.53512485958697, B1: -2.69169618940638, B2: 1.19839281085285,
		A1: -1.69065929318241, A2: 0.73248077421585,
	}
	highPass48k = biquad.Coeffs{
		B0: 1, B1: -2, B2: 1,
		A1: -1.99004745483398, A2: 0.99007225036621,
	}
)

const (
	tableRateHz   = 48000
	calibrationHz = 997 // BS.1770-4: a full-scale sine at this frequency in one channel reads −3.01 LUFS
)

// kSections returns the K-weighting at rateHz. The recommendation asks for the
// same frequency response at other rates. The coefficients of the tables are converted
// back to the analogue section from which the bilinear transform derives them,
//
//	(h0 + h1·s + h2·s²) / (1 + s/Q + s²),  s = (1/K)·(1 − z⁻¹)/(1 + z⁻¹),  K = tan(π·f0/48 kHz)
//
// and then to coefficients at rateHz, with K scaled so that at every rate the response at
// 997 Hz, where loudness is calibrated, is that of the tables. The high-pass of table 2
// has a small gain (0.043 dB, since its numerator is 1, −2, 1). That gain stays the same
// as well; with the numerator 1, −2, 1 it would be 0.03 dB less at 192 kHz.
func kSections(rateHz float64) []biquad.Coeffs {
	return []biquad.Coeffs{atRate(headShelf48k, rateHz), atRate(highPass48k, rateHz)}
}

// atRate converts a section for tableRateHz to one for rateHz.
func atRate(c biquad.Coeffs, rateHz float64) biquad.Coeffs {
	// With a0 = 1 + K/Q + K² the sums of coefficients are, each over a0:
	//   1+A1+A2 = 4K²  1−A1+A2 = 4  1−A2 = 2K/Q
	//   B0+B1+B2 = 4K²h0  B0−B1+B2 = 4h2  B0−B2 = 2K·h1
	unit := 1 - c.A1 + c.A2 // 4/a0
	k := math.Sqrt((1 + c.A1 + c.A2) / unit)
	damping := 2 * (1 - c.A2) / unit / k // 1/Q
	h0 := (c.B0 + c.B1 + c.B2) / (1 + c.A1 + c.A2)
	h1 := 2 * (c.B0 - c.B2) / unit / k
	h2 := (c.B0 - c.B1 + c.B2) / unit

	k *= math.Tan(math.Pi*calibrationHz/rateHz) / math.Tan(math.Pi*calibrationHz/tableRateHz)
	a0 := 1 + damping*k + k*k
	return biquad.Coeffs{
		B0: (h2 + h1*k + h0*k*k) / a0,
		B1: 2 * (h0*k*k - h2) / a0,
		B2: (h2 - h1*k + h0*k*k) / a0,
		A1: 2 * (k*k - 1) / a0,
		A2: (1 - damping*k + k*k) / a0,
	}
}

// Weighting returns the power response |H|² of the K-weighting at each frequency, for a
// sample rate of rateHz.
func Weighting(freqHz []float64, rateHz float64) []float64 {
	power := slices.Repeat([]float64{1}, len(freqHz))
	t := biquad.Warp(nil, freqHz, rateHz)
	for _, c := range kSections(rateHz) {
		m := c.Magnitude()
		m.Multiply(power, t)
	}
	return power
}
