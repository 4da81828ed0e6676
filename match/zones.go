package match

import (
	"math"

	"toneplumb/spectrum"
)

// Zone is a named stretch of the spectrum.
type Zone struct {
	Name          string
	LowHz, HighHz float64
}

// Zones returns the stretches by which tone is talked of. Their borders are exact
// edges of third-octave bands of IEC 61260-1, 1000·10^((2n+1)/20): our own choice
// of which.
func Zones() []Zone {
	edge := func(n float64) float64 { return 1000 * math.Pow(10, (2*n+1)/20) }
	return []Zone{
		{"sub", spectrum.EdgeHz(0), edge(-13)},
		{"lows", edge(-13), edge(-8)},
		{"low mids", edge(-8), edge(-3)},
		{"mids", edge(-3), edge(2)},
		{"high mids", edge(2), edge(7)},
		{"highs", edge(7), edge(10)},
		{"air", edge(10), spectrum.EdgeHz(spectrum.BandCount)},
	}
}

// zoneOf returns the zone that holds a frequency; the outermost hold what lies
// beyond.
func zoneOf(hz float64) Zone {
	zones := Zones()
	for _, z := range zones {
		if hz < z.HighHz {
			return z
		}
	}
	return zones[len(zones)-1]
}

// ZoneDifference is the mean difference and the mean effect of the moves over what
// is judged of a zone, in dB at equal loudness; both NaN where nothing is.
type ZoneDifference struct {
	Zone
	DifferenceDB, FittedDB float64
}

func zoneDifferences(r *Result) []ZoneDifference {
	var all []ZoneDifference
	for _, z := range Zones() {
		all = append(all, ZoneDifference{
			Zone:         z,
			DifferenceDB: r.judgedMean(r.DifferenceDB, z.LowHz, z.HighHz),
			FittedDB:     r.judgedMean(r.FittedDB, z.LowHz, z.HighHz),
		})
	}
	return all
}

// judgedMean returns the mean of a curve over the judged bands between two
// frequencies, NaN if there are none.
func (c *Comparison) judgedMean(db []float64, lowHz, highHz float64) float64 {
	sum, n := 0.0, 0
	for b, yes := range c.judged {
		if hz := spectrum.CentreHz(b); yes && hz >= lowHz && hz <= highHz {
			sum, n = sum+db[b], n+1
		}
	}
	if n == 0 {
		return math.NaN()
	}
	return sum / float64(n)
}
