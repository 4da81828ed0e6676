package match

import (
	"math"
	"strings"

	"toneplumb/match/uncertainty"
	"toneplumb/spectrum"
)

// Zone is a named stretch of the spectrum.
type Zone struct {
	Name          string
	LowHz, HighHz float64
}

// Column returns the zone's name for the heads of columns, with _ for blanks.
func (z Zone) Column() string { return strings.ReplaceAll(z.Name, " ", "_") }

// Zones returns the zones in which tone is discussed, from low to high and without gaps. Their
// borders are exact edges of third-octave bands of IEC 61260-1, 1000·10^((2n+1)/20); which
// edges is our choice.
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

// Lows returns the lower end of the zone sub and the upper end of the zone lows.
func Lows() (lowHz, highHz float64) { return Zones()[0].LowHz, Zones()[1].HighHz }

// ZoneDifference is the mean difference in a zone, half its likely range (95 %), and the mean
// effect of the moves, in dB, ignoring level, over the zone's judged bands. NaN if less than a
// quarter of the zone is judged.
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
		difference, _ := r.judged.Mean(r.DifferenceDB, z.LowHz, z.HighHz)
		fitted, _ := r.judged.Mean(r.FittedDB, z.LowHz, z.HighHz)
		all = append(all, ZoneDifference{Zone: z, DifferenceDB: difference, HalfDB: uncertainty.Factor95 * r.uncertainty.ZoneDB[i], FittedDB: fitted})
	}
	return all
}

// zoneBands returns the judged bands of each zone, nil if they are less than leastShare of it.
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

// judgedBandsOf returns the judged bands of each zone.
func (c *Comparison) judgedBandsOf(zones []Zone) [][]int {
	var bands [][]int
	for _, z := range zones {
		bands = append(bands, c.judged.Bands(z.LowHz, z.HighHz))
	}
	return bands
}
