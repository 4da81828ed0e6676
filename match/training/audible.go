package training

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

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

	thirdDBSPL []float64 // level of the third octave about each band at masking.ListeningDBSPL
}

// Hearing measures the excerpt's mean spectrum.
func (e *Excerpt) Hearing() *Hearing {
	power := make([]float64, spectrum.BandCount)
	front := measure.FrontPair(e.Sound)
	a := spectrum.NewAnalyser(float64(e.RateHz), len(front), func(_ int, bands *spectrum.Bands) {
		floats.Add(power, bands.Power[:])
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
	const half = spectrum.BandsPerOctave / 6
	for b := range power {
		share := floats.Sum(power[max(0, b-half):min(len(power), b+half)]) / floats.Sum(power) // not a number in silence
		h.thirdDBSPL = append(h.thirdDBSPL, spectrum.PowerToDB(share)+masking.ListeningDBSPL)
	}
	return h
}

// mostBelowDB is how far a third octave may lie below the loudest and still count as sound of the mix. Our choice: the
// mean of records stays within 25 dB from 40 Hz to 12.5 kHz (see music in tasks_test.go), and a sparse arrangement is
// allowed 10 more; the rumble or hum beside instruments without that range lies lower.
const mostBelowDB = 35

// sounds reports whether the excerpt has sound in the third octave about a frequency: near enough to the loudest, and
// heard at all at a usual level. The bottom of many mixes lies below the threshold in quiet, where only a large boost
// makes a difference.
func (h *Hearing) sounds(hz float64) bool {
	b, _ := slices.BinarySearch(spectrum.Centres(), hz)
	db := h.thirdDBSPL[min(b, len(h.thirdDBSPL)-1)]
	return db >= floats.Max(h.thirdDBSPL)-mostBelowDB && db >= masking.QuietDBSPL(hz)
}

// Change returns how audible moves are at equal loudness. In silence OverDB is −Inf.
func (h *Hearing) Change(moves []biquad.Filter) masking.Audible {
	factor, _ := h.factor(moves)
	if factor == nil {
		return masking.Audible{OverDB: math.Inf(-1)}
	}
	return h.spectrum.Change(factor)
}

// factor returns the power gain of moves in each band, with the level, a power gain too, at which
// the loudness stays; nil and 1 in silence.
func (h *Hearing) factor(moves []biquad.Filter) (factor []float64, level float64) {
	before := floats.Sum(h.weighted)
	if before == 0 {
		return nil, 1
	}
	factor = make([]float64, len(h.weighted))
	floats.AddConst(1, factor)
	for _, f := range moves {
		m := f.Magnitude(h.rateHz)
		m.Multiply(factor, h.warped)
	}
	level = before / floats.Dot(h.weighted, factor)
	floats.Scale(level, factor)
	return factor, level
}

// changeDB returns only the ChangeDB of Change.
func (h *Hearing) changeDB(moves []biquad.Filter) float64 {
	factor, _ := h.factor(moves)
	if factor == nil {
		return 0
	}
	return h.spectrum.ChangeDB(factor)
}
