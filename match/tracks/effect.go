package tracks

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure/multitrack"
)

// response returns the complex response of filters in series at each band's centre.
func response(filters []biquad.Filter, rateHz float64) []complex128 {
	h := make([]complex128, spectrum.BandCount)
	for b := range h {
		h[b] = 1
	}
	for _, f := range filters {
		for _, c := range f.Sections(rateHz) {
			for b := range h {
				z := cmplx.Rect(1, -2*math.Pi*min(spectrum.CentreHz(b)/rateHz, 0.5)) // z⁻¹
				h[b] *= (complex(c.B0, 0) + z*(complex(c.B1, 0)+z*complex(c.B2, 0))) / (1 + z*(complex(c.A1, 0)+z*complex(c.A2, 0)))
			}
		}
	}
	return h
}

// effect returns the effect on the mix of the same filters on each of some tracks, in dB per band,
// with T their sum:
//
//	|M + (H−1)·T|² = |M|² + 2·Re((H−1)·T·M*) + |H−1|²·|T|²
func (s *session) effect(set []*track, filters []biquad.Filter) []float64 {
	db := make([]float64, spectrum.BandCount)
	for b, h := range response(filters, s.RateHz) {
		m := s.MixPower[b]
		if m <= tiny {
			continue
		}
		re, im := 0.0, 0.0
		for _, t := range set {
			re, im = re+t.re[b], im+t.im[b]
		}
		d := h - 1
		after := m + 2*(real(d)*re-imag(d)*im) + (real(d)*real(d)+imag(d)*imag(d))*s.powerOfSum(set, b)
		db[b] = spectrum.PowerToDB(max(after, m*deepest) / m)
	}
	return db
}

// deepest bounds how far an effect may lower the mix's power: by 60 dB nothing is left.
const deepest = 1e-6

// loudnessChange returns the change of a track's own loudness through filters, in LU, from its
// powers per second and third octave; 0 for silence.
func (s *session) loudnessChange(t *track, filters []biquad.Filter) float64 {
	if t.state == Silent || len(filters) == 0 {
		return 0
	}
	db := biquad.ResponseDB(nil, filters, spectrum.Centres(), s.RateHz)
	// The bands of a third octave are weighted by the track's mean power in them.
	var before, after [multitrack.Thirds]float64
	for third := range before {
		sum := 0.0
		from, to := multitrack.ThirdBands(third)
		for b := from; b < to; b++ {
			p := max(t.Power[b], tiny)
			sum += p
			before[third] += s.k[b] * p
			after[third] += s.k[b] * p * spectrum.DBToPower(db[b])
		}
		before[third], after[third] = before[third]/sum, after[third]/sum
	}
	moved := make([]float64, len(t.StepPower))
	for i, p := range t.StepPower {
		row := min(i/loudness.StepsPerSecond, s.Rows-1)
		x, y := 0.0, 0.0
		for third := range before {
			e := float64(t.RowPower[row*multitrack.Thirds+third])
			x, y = x+before[third]*e, y+after[third]*e
		}
		if x > 0 {
			p *= y / x
		}
		moved[i] = p
	}
	change := loudness.Integrated(moved) - loudness.Integrated(t.StepPower)
	if math.IsNaN(change) || math.IsInf(change, 0) {
		return 0
	}
	return change
}

// apart returns the root mean square of the difference of two curves over the judged bands.
func (s *session) apart(x, y []float64) float64 {
	return s.judged.RMS(floats.SubTo(make([]float64, len(x)), x, y))
}

// powerOfSum returns the power of the sum of some tracks in a band. Their cross-spectra are not
// measured, so it assumes that these tracks are uncorrelated with the others in the mix:
//
//	Re(T·M*) = |T|² + Re(T·(M−T)*) ≈ |T|²,   T = ΣT_k
//
// The result is held between the possible bounds, 0 and (Σ|T_k|)².
func (s *session) powerOfSum(set []*track, band int) float64 {
	if len(set) == 1 {
		return set[0].power[band]
	}
	re, amp := 0.0, 0.0
	for _, t := range set {
		re, amp = re+t.re[band], amp+math.Sqrt(t.power[band])
	}
	return min(max(re, 0), amp*amp)
}
