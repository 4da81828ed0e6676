package fit

import (
	"math"

	"toneplumb/biquad"
)

// DialTerms says what an equaliser's dials of one shape stand for. The zero value is
// the fit's own terms: the half-gain or centre frequency, Q of bells, slope S of
// shelves.
type DialTerms struct {
	Freq  FreqTerm
	Width WidthTerm
	Law   WidthLaw // how the width follows from its dial
}

// WidthLaw is by what the width dial is multiplied before it is the width of its term:
//
//	Factor · 10^(GainPower·|gain|/40), and, of a cut, · CutFactor
//
// The width is narrower where it is a Q or a slope and the product is above 1. A zero factor
// is 1, so that the zero value leaves the dial as it is.
type WidthLaw struct{ Factor, GainPower, CutFactor float64 }

// times returns what the dial is multiplied by at a gain.
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

// FreqTerm is what a shelf's frequency dial stands for.
type FreqTerm uint8

const (
	HalfGain FreqTerm = iota // where the shelf has half its gain in dB
	Corner                   // where it leaves the flat side: half-gain times or over 10^(|gain|/40), as a first-order shelf has it
)

// WidthTerm is what a width dial stands for.
type WidthTerm uint8

const (
	OwnWidth   WidthTerm = iota // Q of bells, slope S of shelves
	ShelfQ                      // of shelves: the cookbook's Q
	DBPerOct                    // of shelves: the steepest slope in dB per octave, see biquad.SteepestDBPerOct
	Octaves                     // of bells: octaves between the points of half the gain in dB
	Octaves3DB                  // of bells: octaves between the points 3.01 dB off the peak
	NoWidth                     // there is no such dial; the one setting is in own terms
)

// Dialled returns what is to be set on the dials for a filter of this ability.
func (a ShapeLimits) Dialled(f biquad.Filter) (freqHz, gainDB, width float64) {
	return f.FreqHz * a.Terms.cornerFactor(f), f.GainDB, a.Terms.width(f)
}

// Filter is the inverse of Dialled: what dials set to these values give for a shape of
// this ability. A slope that the gain cannot have is S = 1.
func (a ShapeLimits) Filter(shape biquad.Shape, freqHz, gainDB, width float64) biquad.Filter {
	return a.Terms.Filter(shape, freqHz, gainDB, width)
}

// cornerFactor is the dialled frequency over the filter's. A low shelf's corner
// lies above its half-gain point, a high shelf's below.
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

func (s DialTerms) width(f biquad.Filter) float64 { return s.term(f) / s.Law.times(f.GainDB) }

// term is the width of a filter in the dial's term.
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

// Filter returns the filter that dials set to these values give. A slope that the
// gain cannot have (a dB per octave too steep for it) is S = 1.
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

// steepestQ is the largest Q of a shelf, with a hump of 12 dB at large gains; steeper ones are held
// there. Our choice: equalisers have such shelves, and beyond the cookbook's root soon ends.
const steepestQ = 4

// minSlope is the least slope S that a shelf is given. Our choice: flatter is no
// shelf within ten octaves.
const minSlope = 0.02

// peakFactor is the Q of a bell by its points 3.01 dB off the peak over its
// cookbook Q:
//
//	√(A⁴ − 2)/A,  A = 10^(|gain|/40)
//
// from |H|² = A⁴/2 with the cookbook's prototype; a cut is a boost turned over. Such
// points exist above 3.01 dB only. Our choice: up to 4 dB the factor is that of 4
// dB, since it falls to nothing on the way.
func peakFactor(gainDB float64) float64 {
	A := math.Pow(10, math.Max(math.Abs(gainDB), 4)/40)
	return math.Sqrt(math.Pow(A, 4)-2) / A
}

// maxWidth is the largest setting of a width dial. Our choice: no Q beyond 100, no
// bandwidth beyond ten octaves; a shelf above S = 1 or Q = 0.71 has a hump, so that
// moves do without, and at ±40 dB the cookbook's formula ends at S = 1.2; a width that
// stands where it stands may be as steep as Q 4; in dB per octave the slope is held at
// S = 1 anyway.
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
