package tracks

import (
	"math"

	"gonum.org/v1/gonum/floats"

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
	firmMovesDB   = 0.3
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
	mix, ofTracks := s.throughEqualiser((*track).cell)
	var levels []float64
	for row := range mix {
		if m, t := floats.Sum(mix[row][:]), floats.Sum(ofTracks[row][:]); m > 0 && t > 0 {
			levels = append(levels, 2*spectrum.PowerToDB(m/t)) // in dB of amplitude
		}
	}
	return deviation(levels, true)
}

// leftByEqualiser returns the share of the mix's loudness, second by second and third octave by third
// octave, that the tracks' sum through the equaliser that fits all seconds best is off by.
func (s *session) leftByEqualiser(cell cellOf) float64 {
	mix, ofTracks := s.throughEqualiser(cell)
	left, all := 0.0, 0.0
	for row := range mix {
		for third, m := range mix[row] {
			left, all = left+math.Abs(m-ofTracks[row][third]), all+m
		}
	}
	return left / max(all, tiny)
}

// cellOf returns |T|² and Re(T·M*) of a track in a second and third octave.
type cellOf func(t *track, second, third int) (power, re float64)

// throughEqualiser returns, for each second that counts, the K-weighted power per third octave of the mix
// and of the tracks' sum through the equaliser that fits all seconds best; 0 where none can.
func (s *session) throughEqualiser(cell cellOf) (mix, ofTracks [][multitrack.Thirds]float64) {
	heard, gain := s.heard(), s.equaliserOnSum(cell)
	mix, ofTracks = make([][multitrack.Thirds]float64, len(s.seconds)), make([][multitrack.Thirds]float64, len(s.seconds))
	for third, h := range gain {
		if h == 0 {
			continue
		}
		k := s.k[midBand(third)]
		for i, row := range s.seconds {
			for _, t := range heard {
				_, re := cell(t, row, third)
				ofTracks[i][third] += k * h * re
			}
			mix[i][third] = k * float64(s.RowMix[row*multitrack.Thirds+third])
		}
	}
	return mix, ofTracks
}

// equaliserOnSum returns the gain h of the equaliser that makes the tracks' sum the mix, as a factor
// per third octave, |M|² = h·ΣRe(T·M*); 0 where none can.
func (s *session) equaliserOnSum(cell cellOf) (h [multitrack.Thirds]float64) {
	heard := s.heard()
	for third := range h {
		mix, sum := 0.0, 0.0
		for _, row := range s.seconds {
			for _, t := range heard {
				_, re := cell(t, row, third)
				sum += re
			}
			mix += float64(s.RowMix[row*multitrack.Thirds+third])
		}
		if sum > 0 {
			h[third] = mix / sum
		}
	}
	return h
}
