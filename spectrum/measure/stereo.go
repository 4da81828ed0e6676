package measure

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"toneplumb/spectrum"
)

// Stereo holds the mean power per band of mid, half the sum of the channels, and of side,
// half their difference, over the time that passes the gate. The side of a mono recording
// is 0.
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
		floats.Scale(1/total, s.Mid)
		floats.Scale(1/total, s.Side)
	}
	return s
}

// MidOverSideDB returns the level of mid minus that of side, in dB, between two frequencies.
// Large is narrow, 0 is as wide as two unrelated channels, below 0 is out of phase. It is
// ±Inf if one of them is silent, NaN if both are.
func (s Stereo) MidOverSideDB(lowHz, highHz float64) float64 {
	mid, side := s.between(lowHz, highHz)
	return spectrum.PowerToDB(mid / side)
}

// MonoDB is how far mid must be above side to be called mono. Our choice: less side is not heard.
// Equal channels have none.
const MonoDB = 45

// IsMono reports whether there is no side to speak of, over all frequencies.
func (s Stereo) IsMono() bool { return s.MidOverSideDB(0, math.Inf(1)) > MonoDB }

// MonoLossDB returns by how many dB the range between two frequencies becomes quieter when
// both loudspeakers play half the sum of the channels: the power ratio is mid/(mid + side).
// 0 is mono, 3 two unrelated channels, +Inf two opposite channels, NaN silence. It is never
// below 0.
func (s Stereo) MonoLossDB(lowHz, highHz float64) float64 {
	mid, side := s.between(lowHz, highHz)
	return spectrum.PowerToDB((mid + side) / mid)
}

// between returns the powers of mid and side in the bands whose centres are between two frequencies.
func (s Stereo) between(lowHz, highHz float64) (mid, side float64) {
	for b := range s.Mid {
		if hz := spectrum.CentreHz(b); hz >= lowHz && hz <= highHz {
			mid += s.Mid[b]
			side += s.Side[b]
		}
	}
	return mid, side // 0/0 is NaN
}

// Mid returns the recording with only the mid in its rows, see [Recording.Row]; it shares r's table.
// The gate and all other figures stay those of both channels.
func (r *Recording) Mid() *Recording {
	return r.half(func(mid, _ float64) float64 { return mid })
}

// Side returns the recording with only the side in its rows, otherwise as [Recording.Mid].
func (r *Recording) Side() *Recording {
	return r.half(func(_, side float64) float64 { return side })
}

func (r *Recording) half(of func(mid, side float64) float64) *Recording {
	h := *r
	h.halved = of
	return &h
}
