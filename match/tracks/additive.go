package tracks

import (
	"math"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure/multitrack"
)

// additive is how far the mix is the sum of the tracks. A fader's effect is known only as
// far as it is: a compressor answers to it, and what is missing stays as it was.
type additive struct {
	restShare float64 // of the mix's loudness, that no equaliser on the tracks' sum gives
	restHz    float64 // where most of that is
	movesDB   float64 // by which the mix's level moves against the tracks' sum, standard deviation
}

const (
	// tellRestShare of the mix is worth telling. Our choice: 0.13 dB of its power.
	tellRestShare = 0.03
	// firmRestShare and firmMovesDB end what is firm. Measured on songs: plain sums leave
	// 0.000 and move by 0.0 dB; see testdata/faders.md.
	firmRestShare = 0.1
	firmMovesDB   = 0.5
)

// firm reports whether the sum of the tracks is enough of the mix for gains to be exact.
func (a additive) firm() bool { return a.restShare <= firmRestShare && a.movesDB <= firmMovesDB }

// additive measures it, once; without sketches only the level's moves.
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
	var levels []float64
	for _, row := range s.seconds {
		mix, re := 0.0, 0.0
		for third := range multitrack.Thirds {
			k := s.k[midBand(third)]
			mix += k * float64(s.RowMix[row*multitrack.Thirds+third])
			for _, t := range s.heard() {
				_, x := t.cell(row, third)
				re += k * x
			}
		}
		if mix > 0 && re > 0 {
			levels = append(levels, 2*spectrum.PowerToDB(mix/re)) // the amplitude's
		}
	}
	a.movesDB = deviation(levels, true)
	return a
}
