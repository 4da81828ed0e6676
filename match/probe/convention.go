package probe

import (
	"math"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
)

// Convention is the meaning of one shape's dials.
type Convention struct {
	Stated fit.DialTerms

	// FixedWidth is the equaliser's only width, in the terms of Stated (NoWidth: slope S or
	// Q); 0 if the width follows the dial.
	FixedWidth float64

	// WidthInHz reports whether a bell's width dial is in hertz, the frequency over Q. Stated then
	// says Q, since the description of an equaliser has no word for it.
	WidthInHz bool

	// KeptNearTop reports whether a width in octaves is kept near half the rate, by the cookbook's
	// digital formula; see [biquad.QFromBandwidthAt].
	KeptNearTop bool
}

// candidates returns the conventions that are tried for a shape, the simplest first.
func candidates(shape biquad.Shape) []Convention {
	var all []Convention
	if shape == biquad.Bell {
		for _, w := range []fit.WidthTerm{fit.OwnWidth, fit.Octaves, fit.Octaves3DB} {
			all = append(all, Convention{Stated: fit.DialTerms{Width: w}})
		}
		return append(all, Convention{Stated: fit.DialTerms{Width: fit.Octaves}, KeptNearTop: true}, Convention{WidthInHz: true},
			Convention{Stated: fit.DialTerms{Width: fit.NoWidth}, FixedWidth: 1})
	}
	add := func(fixed float64, terms ...fit.WidthTerm) {
		for _, f := range []fit.FreqTerm{fit.HalfGain, fit.Corner} {
			for _, w := range terms {
				all = append(all, Convention{Stated: fit.DialTerms{Freq: f, Width: w}, FixedWidth: fixed})
			}
		}
	}
	add(0, fit.OwnWidth, fit.ShelfQ, fit.DBPerOct)
	add(0.6, fit.NoWidth, fit.ShelfQ)
	return all
}

// Filter returns the filter that a setting means at rateHz. It is not ok if there is none, for
// example without a width.
func (m Convention) Filter(p Setting, rateHz float64) (f biquad.Filter, ok bool) {
	width := p.Width
	switch {
	case m.FixedWidth > 0:
		width = m.FixedWidth
	case width == 0:
		return f, false
	case m.Stated.Width == fit.DBPerOct && p.SlopeDB > 0:
		width = p.SlopeDB
	case m.WidthInHz:
		width = p.FreqHz / p.Width
	case m.KeptNearTop && p.FreqHz < rateHz/2:
		f = biquad.Filter{Shape: p.Shape, FreqHz: p.FreqHz, GainDB: p.GainDB, Q: biquad.QFromBandwidthAt(p.Width, p.FreqHz, rateHz)}
		return f, f.Check(rateHz) == nil
	}
	f = m.Stated.Filter(p.Shape, p.FreqHz, p.GainDB, width)
	return f, !math.IsNaN(f.Q) && f.Check(rateHz) == nil
}

// fits returns the rms deviation in dB of the measured responses from the convention's filters,
// at over times the rate; infinite if a setting has no filter.
func (m Convention) fits(all []*Measured, over float64) float64 {
	sum := 0.0
	for _, s := range all {
		rate := over * float64(s.Response.RateHz)
		f, ok := m.Filter(s.Setting, float64(s.Response.RateHz))
		if !ok {
			return math.Inf(1)
		}
		_, rest := s.curve(rate).compare([]biquad.Filter{f})
		sum += rest * rest
	}
	return math.Sqrt(sum / float64(len(all)))
}

// fixed returns m with the one width that fits best, by golden-section search on its logarithm.
func (m Convention) fixed(all []*Measured, over float64) Convention {
	low, high := math.Log(0.1), math.Log(20.0)
	if all[0].Shape != biquad.Bell {
		most := 0.0
		for _, s := range all {
			most = math.Max(most, math.Abs(s.GainDB))
		}
		low, high = math.Log(0.1), math.Log(math.Min(10, biquad.SlopeFromQ(steepestQ, most)))
		if m.Stated.Width == fit.ShelfQ {
			high = math.Log(steepestQ)
		}
	}
	at := func(x float64) float64 {
		m.FixedWidth = math.Exp(x)
		return m.fits(all, over)
	}
	const golden = 0.6180339887498949
	for range 40 { // to 1e-8 of the range
		a, b := high-golden*(high-low), low+golden*(high-low)
		if at(a) < at(b) {
			high = b
		} else {
			low = a
		}
	}
	m.FixedWidth = math.Round(math.Exp((low+high)/2)*1000) / 1000
	return m
}

// A convention is preferred to simpler ones only if it fits clearly better: these margins are
// well above the error of a response, and below the difference between any two conventions at a
// gain of 6 dB. Our choice.
const (
	nearerShare = 1.5
	nearerDB    = 0.0015
)

// plainest returns the simplest convention that fits about as well as the best, and its rms in dB.
func plainest(all []*Measured, over float64) (Convention, float64) {
	var tried []Convention
	var rest []float64
	least := math.Inf(1)
	try := func(m Convention) {
		r := m.fits(all, over)
		tried, rest = append(tried, m), append(rest, r)
		least = math.Min(least, r)
	}
	for _, m := range candidates(all[0].Shape) {
		if m.FixedWidth > 0 {
			m = m.fixed(all, over)
		}
		try(m)
	}
	for _, m := range lawConventions(all, over) {
		try(m)
	}
	for i, r := range rest {
		if r <= nearerShare*least+nearerDB {
			return tried[i], r
		}
	}
	return tried[len(tried)-1], rest[len(rest)-1]
}
