package fit

import (
	"math"

	"toneplumb/biquad"
)

// DialTerms says what the dials of one shape mean on an equaliser. The zero value is
// the fit's own terms: the half-gain or centre frequency, Q of bells, slope S of
// shelves.
type DialTerms struct {
	Freq  FreqTerm
	Width WidthTerm
	Law   WidthLaw // how the width follows from its dial
}

// WidthLaw gives the factor by which the reading of a width dial is multiplied to get
// the width in its [WidthTerm]:
//
//	Factor · 10^(GainPower·|gain|/40)              gain ≥ 0
//	Factor · 10^(GainPower·|gain|/40) · CutFactor  gain < 0
//
// The gain is in dB; the rest has no unit. If the term is a Q or a slope, a product above
// 1 makes the filter narrower. A factor of 0 stands for 1, so the zero value takes the
// dial as it is.
type WidthLaw struct{ Factor, GainPower, CutFactor float64 }

// times returns the factor at a gain.
func (l WidthLaw) times(gainDB float64) float64 {
	x := math.Pow(10, l.GainPower*math.Abs(gainDB)/40)
	if l.Factor != 0 {
		x *= l.Factor
	}
	if l.CutFactor != 0 && gainDB < 0 {
		x *= l.CutFactor
	}
	return x
}

// FreqTerm is the meaning of a shelf's frequency dial.
type FreqTerm uint8

const (
	// HalfGain is the frequency where the shelf has half its gain in dB.
	HalfGain FreqTerm = iota
	// Corner is where the shelf leaves 0 dB: the half-gain frequency times (low shelf) or
	// divided by (high shelf) 10^(|gain|/40), as for a first-order shelf.
	Corner
)

// WidthTerm is the meaning of a width dial.
type WidthTerm uint8

const (
	OwnWidth   WidthTerm = iota // Q of bells, slope S of shelves
	ShelfQ                      // shelves: the cookbook's Q
	DBPerOct                    // shelves: the steepest slope in dB per octave, see biquad.SteepestDBPerOct
	Octaves                     // bells: octaves between the points of half the gain in dB
	Octaves3DB                  // bells: octaves between the points 3.01 dB off the peak
	NoWidth                     // there is no width dial; the one fixed width is given as OwnWidth
)

// Dialled returns the dial settings for a filter, which must be of this shape. They are
// not rounded to the steps of the dials.
func (a ShapeLimits) Dialled(f biquad.Filter) (freqHz, gainDB, width float64) {
	return f.FreqHz * a.Terms.cornerFactor(f), f.GainDB, a.Terms.width(f)
}

// Filter is the inverse of [ShapeLimits.Dialled]: the filter that these dial settings
// give. A slope too steep for the gain becomes S = 1.
func (a ShapeLimits) Filter(shape biquad.Shape, freqHz, gainDB, width float64) biquad.Filter {
	return a.Terms.Filter(shape, freqHz, gainDB, width)
}

// cornerFactor returns the dialled frequency divided by the filter's. A low shelf's
// corner lies above its half-gain point, a high shelf's below.
func (s DialTerms) cornerFactor(f biquad.Filter) float64 {
	factor := math.Pow(10, math.Abs(f.GainDB)/40)
	switch {
	case s.Freq == HalfGain || f.Shape == biquad.Bell:
		return 1
	case f.Shape == biquad.HighShelf:
		return 1 / factor
	}
	return factor
}

// width returns the reading of the width dial for a filter.
func (s DialTerms) width(f biquad.Filter) float64 { return s.term(f) / s.Law.times(f.GainDB) }

// term returns the width of a filter in the dial's [WidthTerm].
func (s DialTerms) term(f biquad.Filter) float64 {
	own := f.Q
	if f.Shape != biquad.Bell {
		own = biquad.SlopeFromQ(f.Q, f.GainDB)
	}
	switch s.Width {
	case ShelfQ:
		return f.Q
	case DBPerOct:
		return biquad.SteepestDBPerOct(own, f.GainDB)
	case Octaves:
		return biquad.BandwidthFromQ(f.Q)
	case Octaves3DB:
		return biquad.BandwidthFromQ(f.Q * peakFactor(f.GainDB))
	}
	return own
}

// Filter returns the filter that these dial settings give. A slope too steep for the
// gain (in dB per octave) becomes S = 1.
func (s DialTerms) Filter(shape biquad.Shape, freqHz, gainDB, width float64) biquad.Filter {
	width *= s.Law.times(gainDB)
	f := biquad.Filter{Shape: shape, FreqHz: freqHz, GainDB: gainDB, Q: width}
	f.FreqHz = freqHz / s.cornerFactor(f)
	switch s.Width {
	case ShelfQ:
		return f
	case DBPerOct:
		one := biquad.SteepestDBPerOct(1, gainDB)
		f.Q = biquad.QFromSlope(math.Min(1, math.Max(width/one, minSlope)), gainDB)
	case Octaves:
		f.Q = biquad.QFromBandwidth(width)
	case Octaves3DB:
		f.Q = biquad.QFromBandwidth(width) / peakFactor(gainDB)
	default:
		if shape != biquad.Bell {
			f.Q = biquad.QFromSlope(math.Min(width, biquad.SlopeFromQ(steepestQ, gainDB)), gainDB)
		}
	}
	return f
}

// steepestQ is the largest Q of a shelf; steeper ones are limited to it. Such a shelf has
// a hump of 12 dB at large gains. Our choice: equalisers have such shelves, and not far
// beyond it the cookbook's root no longer exists.
const steepestQ = 4

// minSlope is the least slope S that a shelf is given. Our choice: a flatter one would
// not be a shelf within ten octaves.
const minSlope = 0.02

// peakFactor returns the Q of a bell by its points 3.01 dB off the peak, divided by its
// cookbook Q:
//
//	√(A⁴ − 2)/A,  A = 10^(|gain|/40)
//
// from |H|² = A⁴/2 with the cookbook's prototype; a cut is a boost upside down. These
// points exist only for gains above 3.01 dB, where the factor starts from 0. Our choice:
// below 4 dB it stays at its value for 4 dB.
func peakFactor(gainDB float64) float64 {
	A := math.Pow(10, math.Max(math.Abs(gainDB), 4)/40)
	return math.Sqrt(math.Pow(A, 4)-2) / A
}

// maxWidth returns the largest setting of a width dial. Our choice: no Q beyond 100 and
// no bandwidth beyond ten octaves. A shelf above S = 1 or Q = 0.71 has a hump, which no
// move needs, and at ±40 dB the cookbook's formula ends at S = 1.2. A fixed width may be
// as steep as Q 4. In dB per octave the slope is limited to S = 1 in any case.
func (s DialTerms) maxWidth(shape biquad.Shape) float64 {
	switch {
	case s.Width == ShelfQ:
		return steepestQ
	case s.Width == NoWidth && shape != biquad.Bell:
		return biquad.SlopeFromQ(steepestQ, 12)
	case s.Width == DBPerOct:
		return 48
	case s.Width == Octaves, s.Width == Octaves3DB:
		return 10
	case shape == biquad.Bell:
		return 100
	}
	return 1.2
}

// ownLimits returns the ranges of half-gain or centre frequency and of Q or slope that
// the dials can reach at some gain; the search stays inside them.
func (a ShapeLimits) ownLimits(shape biquad.Shape) (freqHz, width Dial) {
	freqHz.Min, width.Min = math.Inf(1), math.Inf(1)
	lowHz, highHz := a.FreqHz.limits()
	narrow, wide := a.Width.limits()
	lowDB, highDB := a.GainDB.limits()
	most := max(math.Abs(lowDB), math.Abs(highDB))
	gains := []float64{most, most / 2, min(0.5, most)}
	if a.Terms.Law.CutFactor != 0 {
		gains = append(gains, -most, -most/2, -min(0.5, most))
	}
	for _, gainDB := range gains {
		for _, hz := range []float64{lowHz, highHz} {
			for _, w := range []float64{narrow, wide} {
				f := a.Terms.Filter(shape, hz, gainDB, w)
				own := f.Q
				if shape != biquad.Bell {
					own = min(biquad.SlopeFromQ(f.Q, gainDB), 1)
				}
				freqHz.Min, freqHz.Max = min(freqHz.Min, f.FreqHz), max(freqHz.Max, f.FreqHz)
				width.Min, width.Max = min(width.Min, own), max(width.Max, own)
			}
		}
	}
	return freqHz, width
}
