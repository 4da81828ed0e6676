package tracks

import (
	"testing"

	"gonum.org/v1/gonum/floats"

	"toneplumb/match"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure/multitrack"
)

// A track that sounds in one block only is not widened by the draw without that block, in which
// only its leakage speaks of it; nor is a steady track, which is in all blocks.
func TestRangesOfBriefTracks(t *testing.T) {
	const moments, asideDB, leakage, errorDB = 20, 6, 0.005, 0.05
	s := &session{Table: &multitrack.Table{}, r: &match.Result{Comparison: &match.Comparison{DifferenceDB: make([]float64, spectrum.BandCount)}},
		judged: make(spectrum.Judged, spectrum.BandCount), smoother: spectrum.NewSmoother(make([]bool, spectrum.BandCount), 1)}
	s.MixPower = make([]float64, spectrum.BandCount)
	floats.AddConst(1, s.MixPower)
	for b := range s.judged {
		s.judged[b] = true
	}
	c := &cells{moments: moments, each: 1}
	for third := 8; third < 20; third++ {
		c.thirds = append(c.thirds, third)
	}
	size := len(c.thirds) * moments
	c.mix, c.wantDB, c.count = make([]float64, size), make([]float64, size), size
	floats.AddConst(1, c.mix)
	for range 2 {
		s.tracks = append(s.tracks, &track{state: Heard, power: s.MixPower, re: make([]float64, spectrum.BandCount), im: make([]float64, spectrum.BandCount)})
		s.coherence = append(s.coherence, make([][multitrack.Thirds]float64, 2))
		c.power, c.re = append(c.power, make([]float64, size)), append(c.re, make([]float64, size))
	}
	for i := range c.thirds {
		for m := range moments {
			at := i*moments + m
			switch {
			case i >= 6: // neither track
			case i >= 3:
				c.power[1][at], c.re[1][at], c.wantDB[at] = 1, 1, asideDB
			case m < 2:
				c.power[0][at], c.re[0][at], c.wantDB[at] = 1, 1, asideDB
			default: // leakage, and an error of its size
				c.power[0][at], c.re[0][at], c.wantDB[at] = leakage*leakage, leakage, -errorDB
			}
		}
	}
	x := &search{s, c}
	p := &Plan{Faders: []Fader{{Track: 0, GainDB: asideDB}, {Track: 1, GainDB: asideDB}}}
	x.ranges(p, []action{{track: 0, gainDB: asideDB}, {track: 1, gainDB: asideDB}})
	for _, f := range p.Faders {
		if half := f.HighDB - f.GainDB; !(half < 1) {
			t.Errorf("track %d: ±%.2f dB", f.Track, half)
		}
	}
}
