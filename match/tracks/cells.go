package tracks

import (
	"math"
	"slices"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/multitrack"
)

// cells are the powers of the mix and the tracks per moment and third octave, paired with the
// same moments of a copy.
type cells struct {
	thirds  []int     // judged
	each    int       // seconds per moment
	moments int       // cell [i·moments + m] is moment m of thirds[i]
	mix     []float64 // |M|²; 0: too weak to be used
	wantDB  []float64 // reference minus mix
	power   [][]float64
	re      [][]float64 // Re(T·M*) of each track; both nil for tracks that are not heard
	count   int         // cells in use
}

// mostMoments bounds the work on a long song: neighbouring seconds are added up. Our choice.
const mostMoments = 120

// cellsOf pairs each second of the mix with the same moment of a copy. Without a copy (nil)
// wantDB is 0.
func (s *session) cellsOf(ref *measure.Recording, lagSec float64) *cells {
	rows := s.secondsOf(ref, lagSec)
	each := (len(rows) + mostMoments - 1) / mostMoments
	if each == 0 {
		return &cells{}
	}
	c := &cells{each: each, moments: (len(rows) + each - 1) / each, power: make([][]float64, len(s.tracks)), re: make([][]float64, len(s.tracks))}
	for third := range multitrack.Thirds {
		if s.isJudged(third) {
			c.thirds = append(c.thirds, third)
		}
	}
	size := len(c.thirds) * c.moments
	c.mix, c.wantDB = make([]float64, size), make([]float64, size)
	for i, t := range s.tracks {
		if t.state == Heard {
			c.power[i], c.re[i] = make([]float64, size), make([]float64, size)
		}
	}
	for i, third := range c.thirds {
		refPower := make([]float64, c.moments)
		for n, row := range rows {
			at := i*c.moments + n/each
			if ref != nil {
				refPower[n/each] += powerAt(ref, float64(row)-lagSec, third)
			}
			c.mix[at] += float64(s.RowMix[row*multitrack.Thirds+third])
			for k, t := range s.tracks {
				if c.power[k] != nil {
					p, x := t.cell(row, third)
					c.power[k][at] += p
					c.re[k][at] += x
				}
			}
		}
		least := float64(each) * s.meanMix(third) * spectrum.DBToPower(-weakDB)
		for m, q := range refPower {
			at := i*c.moments + m
			if ref == nil {
				continue
			}
			if c.mix[at] <= least || q <= 0 {
				c.mix[at] = 0
				continue
			}
			c.wantDB[at] = spectrum.PowerToDB(q / c.mix[at])
			c.count++
		}
	}
	return c
}

// secondsOf returns the seconds of the mix that pass the gate and whose same moment of a copy
// passes the copy's gate. Without a copy (nil) it returns all that pass the mix's gate.
func (s *session) secondsOf(ref *measure.Recording, lagSec float64) []int {
	if ref == nil {
		return s.seconds
	}
	gate := ref.GateWeights()
	var rows []int
	for _, row := range s.seconds {
		if j := int(math.Floor(float64(row) - lagSec)); j >= 0 && j+1 < ref.Rows && gate[j] > 0.5 {
			rows = append(rows, row)
		}
	}
	return rows
}

// powerAt returns the power of a recording in a third octave over one second from a time on. It
// interpolates linearly between rows.
func powerAt(r *measure.Recording, second float64, third int) float64 {
	row := int(math.Floor(second))
	part := second - float64(row)
	p := (1 - part) * thirdOf(r, row, third)
	if part > 0 {
		p += part * thirdOf(r, row+1, third)
	}
	return p
}

// scaled returns cells in which the part of the mix that the tracks do not explain is shared out
// among them in proportion: a compressor or equaliser on the sum, or reverberation of the tracks,
// follows the tracks. E is the share that the tracks explain:
//
//	E(second, third) ≈ E(second)·E(third)/E
func (s *session) scaled(c *cells) *cells {
	const most = 4 // up or down; our choice: beyond, it is not the same sound
	explained := func(from, step, count int) float64 {
		mix, re := 0.0, 0.0
		for n := range count {
			at := from + n*step
			k := s.k[midBand(c.thirds[at/c.moments])]
			mix += k * c.mix[at]
			for _, x := range c.re {
				if x != nil {
					re += k * x[at]
				}
			}
		}
		return min(max(re/max(mix, tiny), 1./most), most)
	}
	all := explained(0, 1, len(c.mix))
	out := *c
	out.power, out.re = make([][]float64, len(c.power)), make([][]float64, len(c.re))
	for k := range c.re {
		out.power[k], out.re[k] = slices.Clone(c.power[k]), slices.Clone(c.re[k])
	}
	for i := range c.thirds {
		third := explained(i*c.moments, 1, c.moments)
		for m := range c.moments {
			e := third * explained(m, c.moments, len(c.thirds)) / all
			at := i*c.moments + m
			for k := range c.re {
				if c.re[k] != nil {
					out.re[k][at] /= e
					out.power[k][at] /= e
				}
			}
		}
	}
	return &out
}

// midBand returns the band in the middle of a third octave.
func midBand(third int) int {
	from, to := multitrack.ThirdBands(third)
	return (from + to) / 2
}

// thirdHz returns the centre of a third octave.
func thirdHz(third int) float64 {
	from, to := multitrack.ThirdBands(third)
	return math.Sqrt(spectrum.EdgeHz(from) * spectrum.EdgeHz(to))
}
