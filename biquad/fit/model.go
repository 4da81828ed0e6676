package fit

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
)

// move is a filter in the parameters that the fit works with.
type move struct {
	shape biquad.Shape
	at    setting
	fixed [3]bool // whether a parameter is already on its dial and must not change
}

// setting holds ln FreqHz, GainDB and the width (ln Q of a bell, S of a shelf), at the
// indices of biquad's partial derivatives.
type setting [3]float64

// filter returns the move as a filter.
func (m *move) filter() biquad.Filter {
	f := biquad.Filter{
		Shape:  m.shape,
		FreqHz: math.Exp(m.at[biquad.ByLnFreq]),
		GainDB: m.at[biquad.ByGainDB],
	}
	if width := m.at[biquad.ByWidth]; m.shape == biquad.Bell {
		f.Q = math.Exp(width)
	} else {
		f.Q = biquad.QFromSlope(width, f.GainDB)
	}
	return f
}

func (m *move) kind() uint16 { return kindOf(m.shape, m.at[biquad.ByGainDB]) }

// toMove is the inverse of filter.
func toMove(f biquad.Filter) move {
	m := move{shape: f.Shape, at: setting{math.Log(f.FreqHz), f.GainDB, math.Log(f.Q)}}
	if f.Shape != biquad.Bell {
		m.at[biquad.ByWidth] = biquad.SlopeFromQ(f.Q, f.GainDB)
	}
	return m
}

// box holds the ranges of the parameters of one shape.
type box struct{ low, high setting }

func (b *box) clamp(s setting) setting {
	for i := range s {
		s[i] = min(max(s[i], b.low[i]), b.high[i])
	}
	return s
}

// boxOf returns the ranges of a move. With a least gain, the move stays on its side of 0.
func (m *model) boxOf(mv *move) box {
	b, least := m.boxes[mv.shape], m.p.LeastGainDB
	if least > 0 && mv.at[biquad.ByGainDB] < 0 {
		b.high[biquad.ByGainDB] = -least
	} else if least > 0 {
		b.low[biquad.ByGainDB] = least
	}
	return b
}

// model computes the residual of a problem and its derivatives. It holds scratch
// memory, so it serves one goroutine.
type model struct {
	p      *Problem
	limits [len(shapes)]ShapeLimits // by shape
	boxes  [len(shapes)]box

	judged []int     // bands with weight
	share  []float64 // their weights, adding up to 1
	root   []float64 // √share
	target []float64 // at judged bands, less its mean, times root

	warp     []float64 // biquad.Warp of all bands
	power    []float64 // |H|² of all bands
	partials [3][]float64
	rows     []window // of the smoother, at judged bands

	residual []float64   // of the last evaluation, at judged bands, times root
	jacobian [][]float64 // one row per parameter, like residual
}

func newModel(p *Problem) *model {
	m := &model{p: p, warp: biquad.Warp(nil, p.FreqHz, p.RateHz)}
	for _, shape := range shapes {
		a := p.Equaliser.within(shape, p.RateHz)
		m.limits[shape] = a
		if a.Count == 0 {
			continue
		}
		b := &m.boxes[shape]
		if a.Terms != (DialTerms{}) {
			a.FreqHz, a.Width = a.ownLimits(shape)
		}
		for i, d := range a.dials() {
			b.low[i], b.high[i] = d.limits()
			if isLogarithmic(shape, i) {
				b.low[i], b.high[i] = math.Log(b.low[i]), math.Log(b.high[i])
			}
		}
	}
	var sum float64
	for i, w := range p.Weight {
		if w > 0 {
			m.judged = append(m.judged, i)
			sum += w
		}
	}
	for _, band := range m.judged {
		share := p.Weight[band] / sum
		m.share = append(m.share, share)
		m.root = append(m.root, math.Sqrt(share))
	}
	m.rows = windows(p.Smoother, len(p.FreqHz), m.judged)
	m.target = make([]float64, len(m.judged))
	for i, band := range m.judged {
		m.target[i] = p.TargetDB[band]
	}
	m.centre(m.target)
	n := len(p.FreqHz)
	m.power = make([]float64, n)
	for i := range m.partials {
		m.partials[i] = make([]float64, n)
	}
	m.residual = make([]float64, len(m.judged))
	return m
}

// isLogarithmic reports whether a parameter is the logarithm of what the dial shows.
func isLogarithmic(shape biquad.Shape, parameter int) bool {
	return parameter == biquad.ByLnFreq || parameter == biquad.ByWidth && shape == biquad.Bell
}

// smoothJudged writes the smoothed curve at the judged bands to dst.
func (m *model) smoothJudged(dst, db []float64) {
	for i := range m.rows {
		w := m.rows[i].weights
		x := db[m.rows[i].from:][:len(w)]
		var sum float64
		for j, weight := range w {
			sum += weight * x[j]
		}
		dst[i] = sum
	}
}

// centre removes the weighted mean from a curve at the judged bands, since the offset is
// free, and multiplies the rest by the root of the weights.
func (m *model) centre(db []float64) {
	mean := floats.Dot(m.share, db)
	for i, root := range m.root {
		db[i] = root * (db[i] - mean)
	}
}

// cost returns the mean square of the residual plus the price of the gains, in dB².
func (m *model) cost(moves []move) float64 {
	m.reset()
	for i := range moves {
		section := moves[i].filter().Magnitude(m.p.RateHz)
		section.Multiply(m.power, m.warp)
	}
	return m.subtract() + m.price(moves)
}

// price returns the price of the gains, in dB².
func (m *model) price(moves []move) float64 {
	sum := 0.0
	for i := range moves {
		g := moves[i].at[biquad.ByGainDB]
		sum += m.p.price(g) * g * g
	}
	return sum
}

// linearise returns the cost and fills residual and jacobian, whose row 3·i + j is the
// derivative of the residual with respect to parameter j of move i.
func (m *model) linearise(moves []move) float64 {
	m.reset()
	for len(m.jacobian) < 3*len(moves) {
		m.jacobian = append(m.jacobian, make([]float64, len(m.judged)))
	}
	for i := range moves {
		section := moves[i].filter().Magnitude(m.p.RateHz)
		section.PartialsDB(&m.partials, m.power, m.warp)
		for j, db := range m.partials {
			row := m.jacobian[3*i+j]
			m.smoothJudged(row, db)
			m.centre(row)
		}
	}
	return m.subtract() + m.price(moves)
}

func (m *model) reset() {
	for i := range m.power {
		m.power[i] = 1
	}
}

// subtract turns power into the residual and returns its mean square.
func (m *model) subtract() float64 {
	db := m.power
	for i, p := range db {
		db[i] = 10 / math.Ln10 * math.Log(p) // twice as fast as Log10
	}
	m.smoothJudged(m.residual, db)
	m.centre(m.residual)
	var sum float64
	for i, t := range m.target {
		m.residual[i] -= t
		sum += m.residual[i] * m.residual[i]
	}
	return sum
}

// window is a smoother's weights for one band: those of the bands it averages.
type window struct {
	from    int
	weights []float64
}

// windows returns the windows of the judged bands, found by smoothing curves that are
// 1 at one band and 0 elsewhere. After that, only the judged bands of a curve need
// smoothing.
func windows(s Smoother, bands int, judged []int) []window {
	rows := make([]window, len(judged))
	unit, smoothed := make([]float64, bands), make([]float64, bands)
	for band := range unit {
		unit[band] = 1
		seen := unit
		if s != nil {
			seen = s.Smooth(smoothed, unit)
		}
		for i, j := range judged {
			w := &rows[i]
			if seen[j] == 0 && len(w.weights) == 0 {
				w.from = band + 1
				continue
			}
			w.weights = append(w.weights, seen[j])
		}
		unit[band] = 0
	}
	for i := range rows {
		w := &rows[i].weights
		for len(*w) > 0 && (*w)[len(*w)-1] == 0 {
			*w = (*w)[:len(*w)-1]
		}
	}
	return rows
}
