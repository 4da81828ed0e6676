package fit

import (
	"math"
	"slices"

	"toneplumb/biquad"
)

// maxGainDB bounds the gain of any equaliser.
const maxGainDB = 40

// Louder returns the equaliser with its gain ranges multiplied by factor, at most ±40 dB
// and without steps. It is for a search whose gains are scaled down afterwards.
func (e Equaliser) Louder(factor float64) Equaliser {
	for _, a := range []*ShapeLimits{&e.LowShelf, &e.Bell, &e.HighShelf} {
		low, high := a.GainDB.limits()
		a.GainDB = Dial{Min: max(-maxGainDB, factor*low), Max: min(maxGainDB, factor*high)}
	}
	return e
}

// Scaled returns filters with their gains multiplied by factor, at the same slope of
// shelves and Q of bells. Their response in dB scales by nearly the same factor.
func Scaled(filters []biquad.Filter, factor float64) []biquad.Filter {
	scaled := slices.Clone(filters)
	for i, f := range scaled {
		gainDB := factor * f.GainDB
		if f.Shape != biquad.Bell && math.Abs(f.GainDB) > 0 {
			scaled[i].Q = biquad.QFromSlope(biquad.SlopeFromQ(f.Q, f.GainDB), gainDB)
		}
		scaled[i].GainDB = gainDB
	}
	return scaled
}
