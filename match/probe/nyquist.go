package probe

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
)

// Correction is what to dial so that an equaliser with another shape near half the rate has the
// response of the cookbook's filter at the session's rate, in which moves are advised.
type Correction struct {
	Advised biquad.Filter // as advised by match
	Dial    biquad.Filter // in the same terms
	FreqHz  float64       // of Dial, in the equaliser's own terms

	// OffDB is the largest difference in dB from 20 Hz to 16 kHz (or 0.45 of the rate) when
	// dialled as advised, LeftDB when dialled as corrected.
	OffDB, LeftDB float64
}

// Corrections returns what to dial for some moves near the top, 3 dB each; nil if Oversampling is
// 1. Our choice of moves: the highest that are advised, since moves below 5 kHz need no correction
// as large as a dial step of 0.5 dB.
func (e *Equaliser) Corrections() []Correction {
	if e.Oversampling == 1 {
		return nil
	}
	rate := float64(e.RateHz)
	var all []Correction
	for _, f := range []biquad.Filter{
		{Shape: biquad.Bell, FreqHz: 6000, GainDB: 3, Q: 0.7},
		{Shape: biquad.Bell, FreqHz: 8000, GainDB: 3, Q: 0.7},
		{Shape: biquad.Bell, FreqHz: 10000, GainDB: 3, Q: 0.7},
		{Shape: biquad.Bell, FreqHz: 12000, GainDB: 3, Q: 0.7},
		{Shape: biquad.HighShelf, FreqHz: 8000, GainDB: 3, Q: biquad.QFromSlope(0.7, 3)},
		{Shape: biquad.HighShelf, FreqHz: 12000, GainDB: 3, Q: biquad.QFromSlope(0.7, 3)},
	} {
		m, learnt := e.Terms[f.Shape]
		if !learnt || f.FreqHz > 0.4*rate {
			continue
		}
		var hz []float64
		for x := 20.0; x <= math.Min(16000, 0.45*rate); x *= math.Pow(2, 1.0/12) {
			hz = append(hz, x)
		}
		c := curve{freqHz: hz, db: biquad.ResponseDB(nil, []biquad.Filter{f}, hz, rate), rateHz: e.Oversampling * rate, held: true}
		dial, _ := c.refine([]biquad.Filter{f})
		k := Correction{Advised: f, Dial: dial[0], OffDB: c.most([]biquad.Filter{f}), LeftDB: c.most(dial)}
		k.FreqHz, _, _ = fit.ShapeLimits{Terms: m.Stated}.Dialled(dial[0])
		all = append(all, k)
	}
	return all
}

// most returns the largest deviation from the curve, in dB.
func (c curve) most(filters []biquad.Filter) float64 {
	return floats.Distance(c.db, biquad.ResponseDB(nil, filters, c.freqHz, c.rateHz), math.Inf(1))
}
