package tracks

import (
	"math"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure/multitrack"
)

// additive measures how far the mix is the plain sum of the tracks. Only in a plain sum is the
// effect of a fader known: a compressor reacts to it, and sound that no track holds stays.
type additive struct {
	restShare float64 // share of the mix's loudness that no equaliser on the tracks' sum explains
	restHz    float64 // where most of that is
	movesDB   float64 // standard deviation of the mix's level against the tracks' sum
}

const (
	// reportedRestShare is the share of the mix from which it is reported. Our choice: 0.13 dB of its power.
	reportedRestShare = 0.03
	// firmRestShare and firmMovesDB are the largest values at which gains are exact and not hints.
	// Measured on songs: plain sums leave 0.000 and move by 0.0 dB; testdata/faders.md compares
	// them with the cases behind a compressor and a reverb.
	firmRestShare = 0.1
	firmMovesDB   = 0.6
)

// firm reports whether the mix is close enough to the sum of the tracks for gains to be exact.
func (a additive) firm() bool { return a.restShare <= firmRestShare && a.movesDB <= firmMovesDB }

// additive measures it once. Without sketches only movesDB is measured.
func (s *session) additive() additive {
	if s.sum == nil {
		a := s.measureAdditive()
		s.sum = &a
	}
	return *s.sum
}

func (s *session) measureAdditive() (a additive) {
	var parts []*spectrum.Sketch
	var gains []float64
	for _, t := range s.heard() {
		if t.Sketch != nil {
			parts, gains = append(parts, t.Sketch), append(gains, t.gain)
		}
	}
	if s.MixSketch != nil && len(parts) > 0 {
		most, rest, all := 0.0, 0.0, 0.0
		for third, share := range spectrum.Unexplained(s.MixSketch, parts, gains) {
			if !s.isJudged(third) {
				continue
			}
			mix := s.k[midBand(third)] * s.meanMix(third)
			rest, all = rest+share*mix, all+mix
			if share*mix > most {
				from, to := multitrack.ThirdBands(third)
				most, a.restHz = share*mix, math.Sqrt(spectrum.EdgeHz(from)*spectrum.EdgeHz(to))
			}
		}
		a.restShare = rest / max(all, tiny)
	}
	a.movesDB = s.levelMovesDB()
	return a
}

// levelMovesDB returns the standard deviation in dB of the mix's level, second by second, against
// that of the tracks' sum through the equaliser that fits all seconds best: one on the sum does not
// make the level move.
func (s *session) levelMovesDB() float64 {
	heard := s.heard()
	at := func(row, third int) (mix, re float64) {
		for _, t := range heard {
			_, x := t.cell(row, third)
			re += x
		}
		return float64(s.RowMix[row*multitrack.Thirds+third]), re
	}
	var equaliser [multitrack.Thirds]float64 // as a factor on Re(T·M*)
	for third := range equaliser {
		all, ofTracks := 0.0, 0.0
		for _, row := range s.seconds {
			mix, re := at(row, third)
			all, ofTracks = all+mix, ofTracks+re
		}
		if ofTracks > 0 {
			equaliser[third] = s.k[midBand(third)] * all / ofTracks
		}
	}
	var levels []float64
	for _, row := range s.seconds {
		level, ofTracks := 0.0, 0.0
		for third, gain := range equaliser {
			if mix, re := at(row, third); gain > 0 {
				level, ofTracks = level+s.k[midBand(third)]*mix, ofTracks+gain*re
			}
		}
		if level > 0 && ofTracks > 0 {
			levels = append(levels, 2*spectrum.PowerToDB(level/ofTracks)) // in dB of amplitude
		}
	}
	return deviation(levels, true)
}
