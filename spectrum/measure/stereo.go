package measure

import (
	"math"

	"toneplumb/spectrum"
)

// Stereo holds the mean powers of mid, half the sum of the channels, and of side, half
// their difference, per band over what passes the gate. A mono recording has no side.
type Stereo struct{ Mid, Side []float64 }

// Stereo returns the mean powers of mid and side.
func (r *Recording) Stereo() Stereo {
	gate := r.GateWeights()
	s := Stereo{make([]float64, spectrum.BandCount), make([]float64, spectrum.BandCount)}
	total := 0.0
	for row, w := range gate {
		if w == 0 {
			continue
		}
		total += w
		for b, p := range r.Row(row) {
			mid, side := r.Width[row*spectrum.BandCount+b].Split(float64(p))
			s.Mid[b] += w * mid
			s.Side[b] += w * side
		}
	}
	if total > 0 {
		for b := range s.Mid {
			s.Mid[b] /= total
			s.Side[b] /= total
		}
	}
	return s
}

// MidOverSideDB returns by how many dB mid stands above side between two frequencies:
// large is narrow, 0 is as wide as two unlike channels, below 0 is out of phase. It is
// ±Inf where one of them is silent, NaN where both are.
func (s Stereo) MidOverSideDB(lowHz, highHz float64) float64 {
	mid, side := between(s.Mid, lowHz, highHz), between(s.Side, lowHz, highHz)
	if mid == 0 && side == 0 {
		return math.NaN()
	}
	return spectrum.PowerToDB(mid / side)
}

// MonoLossDB returns by how many dB what lies between two frequencies grows quieter when
// both loudspeakers play half the sum of the channels: 2·mid/(mid + side) in power. 0
// is mono, 3 are two unlike channels, +Inf is one against the other, NaN is silence.
// It is below 0 nowhere.
func (s Stereo) MonoLossDB(lowHz, highHz float64) float64 {
	mid, side := between(s.Mid, lowHz, highHz), between(s.Side, lowHz, highHz)
	if mid == 0 && side == 0 {
		return math.NaN()
	}
	return spectrum.PowerToDB((mid + side) / mid)
}

func between(power []float64, lowHz, highHz float64) float64 {
	sum := 0.0
	for b, p := range power {
		if hz := spectrum.CentreHz(b); hz >= lowHz && hz <= highHz {
			sum += p
		}
	}
	return sum
}

// Mid and Side return the recording with only the mid, or the side, in its table. What
// is said of all of it, the gate among it, stays as it is.
func (r *Recording) Mid() *Recording {
	return r.half(func(mid, _ float64) float64 { return mid })
}

// Side: see Mid.
func (r *Recording) Side() *Recording {
	return r.half(func(_, side float64) float64 { return side })
}

func (r *Recording) half(of func(mid, side float64) float64) *Recording {
	h := *r
	h.Power = make([]float32, len(r.Power))
	for i, p := range r.Power {
		h.Power[i] = float32(of(r.Width[i].Split(float64(p))))
	}
	h.Width = make([]Width, len(r.Width)) // no sides of its own to speak of
	return &h
}
