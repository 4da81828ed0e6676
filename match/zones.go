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

// Lows returns the ends of the zones sub and lows together.
func Lows() (lowHz, highHz float64) { return Zones()[0].LowHz, Zones()[1].HighHz }

// ZoneDifference is the mean difference, half its 95 % interval, and the mean effect of
// the moves over what is judged of a zone, in dB, level ignored; NaN where nothing
// is.
type ZoneDifference struct {
	Zone
	DifferenceDB, HalfDB, FittedDB float64
}

func zoneDifferences(r *Result) []ZoneDifference {
	var all []ZoneDifference
	bands := r.zoneBands()
	for i, z := range Zones() {
		if bands[i] == nil {
			all = append(all, ZoneDifference{Zone: z, DifferenceDB: math.NaN(), HalfDB: math.NaN(), FittedDB: math.NaN()})
			continue
		}
		difference, _ := r.judgedMean(r.DifferenceDB, z.LowHz, z.HighHz)
		fitted, _ := r.judgedMean(r.FittedDB, z.LowHz, z.HighHz)
		all = append(all, ZoneDifference{Zone: z, DifferenceDB: difference, HalfDB: bandFactor * r.uncertainty.zoneDB[i], FittedDB: fitted})
	}
	return all
}

// zoneBands returns the judged bands of each zone, nil where they are too few to speak
// of the zone.
func (c *Comparison) zoneBands() [][]int {
	const leastShare = 0.25 // of a zone; our choice
	all := c.judgedBandsOf(Zones())
	for i, z := range Zones() {
		if octaves := math.Log2(z.HighHz / z.LowHz); float64(len(all[i])) < leastShare*octaves*spectrum.BandsPerOctave {
			all[i] = nil
		}
	}
	return all
}

// judgedMean returns the mean of a curve over the judged bands between two
// frequencies and over the others, NaN where there are none.
func (c *Comparison) judgedMean(db []float64, lowHz, highHz float64) (inside, rest float64) {
	var sum, n [2]float64
	for b, yes := range c.judged {
		if !yes {
			continue
		}
		i := 1
		if hz := spectrum.CentreHz(b); hz >= lowHz && hz <= highHz {
			i = 0
		}
		sum[i] += db[b]
		n[i]++
	}
	return sum[0] / n[0], sum[1] / n[1] // 0/0 is NaN
}

// judgedBandsOf returns the judged bands of each zone.
func (c *Comparison) judgedBandsOf(zones []Zone) [][]int {
	bands := make([][]int, len(zones))
	for b, yes := range c.judged {
		hz := spectrum.CentreHz(b)
		for i, z := range zones {
			if yes && hz >= z.LowHz && hz <= z.HighHz {
				bands[i] = append(bands[i], b)
			}
		}
	}
	return bands
}
