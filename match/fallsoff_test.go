package match

import (
	"math"
	"testing"

	"toneplumb/spectrum"
)

// A top that falls like a low-pass is left out from a quarter of an octave before the fall
// is sure; a slope as songs have it, a dip and a coder's low-pass are not its business.
func TestFallsOff(t *testing.T) {
	slope := func(fromHz, dBPerOct float64) func(hz float64) float64 {
		return func(hz float64) float64 { return -dBPerOct * max(0, math.Log2(hz/fromHz)) }
	}
	for _, x := range []struct {
		name     string
		db       func(hz float64) float64
		cutoffHz float64
		fromHz   float64 // 0: nowhere
	}{
		{"12 dB an octave from 500 Hz", slope(500, 12), 0, 0},
		{"40 dB an octave from 9 kHz", slope(9000, 40), 0, 9000 * math.Exp2(12.0/40-0.25)},
		{"a dip at 10 kHz", func(hz float64) float64 { return -20 * math.Exp(-math.Pow(4*math.Log2(hz/10000), 2)) }, 0, 0},
		{"a coder's low-pass", slope(15000, 200), 16000, 0},
	} {
		third := make([]float64, spectrum.BandCount)
		for b := range third {
			third[b] = spectrum.DBToPower(x.db(spectrum.CentreHz(b)))
		}
		from := fallsOff(third, x.cutoffHz)
		if x.fromHz == 0 {
			if from != len(third) {
				t.Errorf("%s: left out from %.0f Hz, want nothing", x.name, spectrum.CentreHz(from))
			}
			continue
		}
		if from == len(third) || math.Abs(math.Log2(spectrum.CentreHz(from)/x.fromHz)) > 2.0/spectrum.BandsPerOctave {
			t.Errorf("%s: left out from band %d, want %.0f Hz", x.name, from, x.fromHz)
		}
	}
}

// A zone's figure stands beside what it is the mean of: where bands are left out at an end, or the range is shorter.
func TestWhereAZoneIsJudged(t *testing.T) {
	c := &Comparison{Options: DefaultCompare(), LeftOut: make([]Exclusion, spectrum.BandCount)}
	zones := Zones()
	for b := range c.LeftOut {
		if hz := spectrum.CentreHz(b); hz > 12000 {
			c.LeftOut[b] = Exclusion{Cause: StopsThere, Hz: 12000}
		}
	}
	for _, row := range []struct{ zone, lowHz, highHz float64 }{
		{0, 40, zones[0].HighHz}, {3, zones[3].LowHz, zones[3].HighHz}, {6, zones[6].LowHz, 12000},
	} {
		low, high := c.JudgedHzOf(zones[int(row.zone)])
		if near := math.Exp2(1.0 / spectrum.BandsPerOctave); low != row.lowHz || high > row.highHz*near || high < row.highHz/near {
			t.Errorf("zone %g: %g to %g Hz, want %g to %g", row.zone, low, high, row.lowHz, row.highHz)
		}
	}
	if low, high := c.JudgedHzOf(Zone{LowHz: 13000, HighHz: 14000}); low != 13000 || high != 14000 {
		t.Errorf("nothing judged: %g to %g Hz", low, high)
	}
}
