package biquad

import "math"

// QFromSlope returns the Q of a shelf whose slope parameter is slope (S > 0) at a
// gain of gainDB:
//
//	1/Q = √((A + 1/A)·(1/S − 1) + 2),  A = 10^(gainDB/40)
//
// S = 1 gives 0.7071 at every gain and is the steepest shelf without a hump.
// Above S = 1 the root exists up to S = 1 + 2/(A + 1/A − 2); beyond it the result
// is NaN. Source: the cookbook, "S, a shelf slope parameter".
func QFromSlope(slope, gainDB float64) float64 {
	return 1 / math.Sqrt(symmetricGain(gainDB)*(1/slope-1)+2)
}

// SlopeFromQ is the inverse of [QFromSlope], for any q > 0.
func SlopeFromQ(q, gainDB float64) float64 {
	return 1 / (1 + (1/(q*q)-2)/symmetricGain(gainDB))
}

// symmetricGain returns A + 1/A with A = 10^(gainDB/40), which is at least 2.
func symmetricGain(gainDB float64) float64 {
	return 2 * math.Cosh(gainDB*math.Ln10/40)
}

// SteepestDBPerOct returns the steepness of a shelf at its half-gain point, in dB per
// octave, 0 or more:
//
//	40·log10(2)·S·tanh(|gainDB|·ln 10/40)
//
// It is the slope of the analogue response at s = j, where a shelf with S ≤ 1 is
// steepest. Our own derivation from the cookbook's prototype.
func SteepestDBPerOct(slope, gainDB float64) float64 {
	return 2 * ampToDB(2) * slope * math.Tanh(math.Abs(gainDB)*math.Ln10/40)
}

// QFromBandwidth returns the Q of an analogue bell (not squeezed by the bilinear
// transform) that is octaves wide between its half-gain points, octaves > 0:
//
//	1/Q = 2·sinh(ln 2/2·octaves)
//
// Source: the cookbook, "BW, the bandwidth in octaves".
func QFromBandwidth(octaves float64) float64 {
	return 1 / (2 * math.Sinh(math.Ln2/2*octaves))
}

// BandwidthFromQ is the inverse of [QFromBandwidth], in octaves, for any q > 0.
func BandwidthFromQ(q float64) float64 {
	return 2 / math.Ln2 * math.Asinh(1/(2*q))
}

// QFromBandwidthAt returns the Q of a digital bell at freqHz that is about octaves
// wide: it makes up for the squeeze of the bilinear transform near rateHz/2.
//
//	1/Q = 2·sinh(ln 2/2·octaves·w0/sin(w0)),  w0 = 2π·freqHz/rateHz
//
// It needs octaves > 0 and 0 < freqHz < rateHz/2. Source: the cookbook, "BW".
func QFromBandwidthAt(octaves, freqHz, rateHz float64) float64 {
	w0 := 2 * math.Pi * freqHz / rateHz
	return QFromBandwidth(octaves * w0 / math.Sin(w0))
}

// powerToDB returns 10·log10(power); 0 gives -Inf.
func powerToDB(power float64) float64 { return 10 * math.Log10(power) }

// ampToDB returns 20·log10(gain); 0 gives -Inf.
func ampToDB(gain float64) float64 { return 20 * math.Log10(gain) }
