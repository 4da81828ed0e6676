package training

import (
	"math"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/masking"
	"toneplumb/spectrum/measure"
)

// Hearing predicts how audible moves are in an excerpt.
type Hearing struct {
	spectrum *masking.Spectrum
	weighted []float64 // K-weighted power per band; their sum gives the loudness
	warped   []float64 // band centres as used by [biquad.Magnitude]
	rateHz   float64
}

// Hearing measures the excerpt's mean spectrum.
func (e *Excerpt) Hearing() *Hearing {
	power := make([]float64, spectrum.BandCount)
	front := measure.FrontPair(e.Sound)
	a := spectrum.NewAnalyser(float64(e.RateHz), len(front), func(_ int, bands *spectrum.Bands) {
		for b, p := range bands.Power {
			power[b] += p
		}
	})
	a.Add(front)
	return newHearing(power, float64(e.RateHz))
}

func newHearing(power []float64, rateHz float64) *Hearing {
	h := &Hearing{spectrum: masking.New(power), weighted: make([]float64, len(power)), warped: biquad.Warp(nil, spectrum.Centres(), rateHz), rateHz: rateHz}
	for b, k := range loudness.Weighting(spectrum.Centres(), rateHz) {
		if spectrum.CentreHz(b) < rateHz/2 {
			h.weighted[b] = k * power[b]
		}
	}
	return h
}

// Change returns how audible moves are at equal loudness. In silence OverDB is −Inf.
func (h *Hearing) Change(moves []biquad.Filter) masking.Audible {
	factor := h.factor(moves)
	if factor == nil {
		return masking.Audible{OverDB: math.Inf(-1)}
	}
	return h.spectrum.Change(factor)
}

// factor returns the power gain of moves in each band, scaled so that the loudness stays; nil in
// silence.
func (h *Hearing) factor(moves []biquad.Filter) []float64 {
	factor := make([]float64, len(h.weighted))
	for b := range factor {
		factor[b] = 1
	}
	for _, f := range moves {
		m := f.Magnitude(h.rateHz)
		m.Multiply(factor, h.warped)
	}
	before, after := 0.0, 0.0
	for b, p := range h.weighted {
		before += p
		after += p * factor[b]
	}
	if before == 0 {
		return nil
	}
	for b := range factor {
		factor[b] *= before / after
	}
	return factor
}

// changeDB returns only the ChangeDB of Change.
func (h *Hearing) changeDB(moves []biquad.Filter) float64 {
	factor := h.factor(moves)
	if factor == nil {
		return 0
	}
	return h.spectrum.ChangeDB(factor)
}
