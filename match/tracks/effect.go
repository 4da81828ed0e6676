package tracks

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure/multitrack"
)

// response returns the complex response of filters in series at each band's centre.
func response(filters []biquad.Filter, rateHz float64) []complex128 {
	h := slices.Repeat([]complex128{1}, spectrum.BandCount)
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

// effects are the actions' effects per third octave, averaged with the track's power as weight.
type effects struct {
	on     []int          // the tracks with an action
	delta  [][]complex128 // H−1, [on][third]
	square [][]float64    // |H−1|², [on][third]
	master []float64      // dB; nil without an action on the master
}

func (s *search) effects(actions []action) effects {
	a := s.apply(actions)
	e := effects{on: a.tracks()}
	for _, i := range e.on {
		d, sq := make([]complex128, multitrack.Thirds), make([]float64, multitrack.Thirds)
		for _, third := range s.thirds {
			from, to := multitrack.ThirdBands(third)
			sum, mean, square := 0.0, complex128(0), 0.0
			for b := from; b < to; b++ {
				p := s.tracks[i].power[b] + tiny
				v := a.delta[i][b]
				sum, mean, square = sum+p, mean+complex(p, 0)*v, square+p*(real(v)*real(v)+imag(v)*imag(v))
			}
			d[third], sq[third] = mean/complex(sum, 0), square/sum
		}
		e.delta, e.square = append(e.delta, d), append(e.square, sq)
	}
	if a.master != nil {
		e.master = make([]float64, multitrack.Thirds)
		for _, third := range s.thirds {
			from, to := multitrack.ThirdBands(third)
			before, after := 0.0, 0.0
			for b := from; b < to; b++ {
				p := s.MixPower[b] + tiny
				before, after = before+p, after+p*spectrum.DBToPower(a.master[b])
			}
			e.master[third] = spectrum.PowerToDB(after / before)
		}
	}
	return e
}

// changed writes the power of each cell with the actions on tracks; those on the master are left out.
func (s *search) changed(e effects, power []float64) {
	copy(power, s.mix)
	for n, k := range e.on {
		for i, third := range s.thirds {
			re2, sq := 2*real(e.delta[n][third]), e.square[n][third]
			if re2 == 0 && sq == 0 {
				continue
			}
			x, p := s.re[k][i*s.moments:][:s.moments], s.power[k][i*s.moments:][:s.moments]
			out := power[i*s.moments:][:s.moments]
			for m := range out {
				out[m] += re2*x[m] + sq*p[m]
			}
			for o, j := range e.on[:n] {
				if c := s.coherence[k][j][third]; c != 0 {
					c *= 2 * (real(e.delta[n][third])*real(e.delta[o][third]) + imag(e.delta[n][third])*imag(e.delta[o][third]))
					q := s.power[j][i*s.moments:][:s.moments]
					for m := range out {
						out[m] += c * math.Sqrt(p[m]*q[m])
					}
				}
			}
		}
	}
}

// residuals writes what the actions leave of each cell in dB, each moment's level removed; NaN
// where the cell is not used.
func (s *search) residuals(actions []action, out []float64) {
	const floor = 1e-3 // −30 dB: leakage of the others
	e := s.effects(actions)
	s.changed(e, out)
	for i, third := range s.thirds {
		for m := range s.moments {
			at := i*s.moments + m
			if s.mix[at] == 0 {
				out[at] = math.NaN()
				continue
			}
			out[at] = s.wantDB[at] - spectrum.PowerToDB(max(out[at]/s.mix[at], floor))
			if e.master != nil {
				out[at] -= e.master[third]
			}
		}
	}
	for m := range s.moments {
		s.takeLevel(out, m)
	}
}

// takeLevel removes the level of one moment from residuals: their Huber mean over the third
// octaves, by iterative reweighting. Level is not tone, and a compressor on the sum changes it.
func (s *search) takeLevel(out []float64, moment int) {
	level := 0.0
	for range 6 {
		sum, n := 0.0, 0.0
		for at := moment; at < len(out); at += s.moments {
			if r := out[at]; !math.IsNaN(r) {
				w := huberWeight(r - level)
				sum, n = sum+w*r, n+w
			}
		}
		level = sum / max(n, tiny)
	}
	for at := moment; at < len(out); at += s.moments {
		out[at] -= level
	}
}

// size returns the square root of the mean of Huber's function over the residuals.
func (s *search) size(res []float64) float64 {
	sum := 0.0
	for _, r := range res {
		if !math.IsNaN(r) {
			sum += huber(r, outlierDB)
		}
	}
	return math.Sqrt(sum / float64(max(1, s.count)))
}

// huber returns twice Huber's function: the square of r, but linear beyond a distance.
func huber(r, beyond float64) float64 {
	if r = math.Abs(r); r > beyond {
		return beyond * (2*r - beyond)
	}
	return r * r
}

// huberWeight returns what a residual counts in a sum of squares by it, from 0 to 1.
func huberWeight(r float64) float64 { return min(1, outlierDB/max(math.Abs(r), tiny)) }
