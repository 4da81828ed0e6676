package tracks

import (
	"math"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure/multitrack"
)

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
				w := min(1, outlierDB/max(math.Abs(r-level), tiny))
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
		if math.IsNaN(r) {
			continue
		}
		if r = math.Abs(r); r <= outlierDB {
			sum += r * r
		} else {
			sum += 2*outlierDB*r - outlierDB*outlierDB
		}
	}
	return math.Sqrt(sum / float64(max(1, s.count)))
}
