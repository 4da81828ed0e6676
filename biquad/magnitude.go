package biquad

import "math"

// Magnitude is the power response of one section as a ratio of two quadratics
//
//	|H|² = N(t)/D(t),  t = tan²(ω/2),  ω = 2π·f/rate
//
// with the partial derivatives of N and D with respect to the filter's parameters.
// The bilinear transform makes t the square of the analogue frequency, so the
// quadratics are those of the prototype. Unlike a sum over cosines they keep full
// accuracy at 20 Hz and 192 kHz; unlike quadratics in sin²(ω/2) they keep it at rate/2.
type Magnitude struct {
	num, den         quadratic
	numPart, denPart [partials]quadratic
}

// quadratic holds c[0] + c[1]·t + c[2]·t².
type quadratic [3]float64

func (c *quadratic) at(t float64) float64 { return c[0] + t*(c[1]+t*c[2]) }

// Magnitudes returns the power responses of the sections of f at rateHz, in the order
// of [Filter.Sections]. It panics if [Filter.Check] fails at rateHz.
func (f Filter) Magnitudes(rateHz float64) []Magnitude {
	protos := f.prototypes(rateHz)
	sections := make([]Magnitude, len(protos))
	for i := range protos {
		sections[i] = protos[i].magnitude()
	}
	return sections
}

// Magnitude returns the power response of a shelf or bell, which is one section, at
// rateHz. It panics for a cut and if [Filter.Check] fails at rateHz.
func (f Filter) Magnitude(rateHz float64) Magnitude {
	f.mustCheck(rateHz)
	if f.Shape.IsCut() {
		panic("biquad: Magnitude of a cut")
	}
	p := f.cookbook(f.warped(rateHz))
	return p.magnitude()
}

// Magnitude returns the power response of c; its partial derivatives are zero. How
// accurate it is far below the sample rate depends on c: there the sums B0+B1+B2 and
// 1+A1+A2 lose digits.
func (c Coeffs) Magnitude() Magnitude {
	p := prototype{
		n: [3]dual{constant(c.B0 + c.B1 + c.B2), constant(2 * (c.B0 - c.B2)), constant(c.B0 - c.B1 + c.B2)},
		d: [3]dual{constant(1 + c.A1 + c.A2), constant(2 * (1 - c.A2)), constant(1 - c.A1 + c.A2)},
		k: constant(1),
	}
	return p.magnitude()
}

// magnitude evaluates H(s) at s = j·tan(ω/2)/k:
//
//	|n0 + n1·s + n2·s²|²·k⁴ = n0²·k⁴ + (n1² − 2·n0·n2)·k²·t + n2²·t²
func (p *prototype) magnitude() Magnitude {
	k2 := p.k.square()
	var m Magnitude
	m.num, m.numPart = squared(p.n, k2)
	m.den, m.denPart = squared(p.d, k2)
	return m
}

// squared returns the right-hand side of that formula as a quadratic in t, with its
// partial derivatives. k2 is k².
func squared(n [3]dual, k2 dual) (q quadratic, part [partials]quadratic) {
	c := [3]dual{
		n[0].mul(k2).square(),
		n[1].square().add(n[0].mul(n[2]).times(-2)).mul(k2),
		n[2].square(),
	}
	for power, x := range c {
		q[power] = x.v
		for i, d := range x.d {
			part[i][power] = d
		}
	}
	return q, part
}

// Warp writes t = tan²(π·f/rateHz) for each frequency to dst (nil: a new slice) and
// returns it. Frequencies above rateHz/2 are taken as rateHz/2. It panics if dst has
// another length than freqHz.
func Warp(dst, freqHz []float64, rateHz float64) []float64 {
	dst = sized(dst, len(freqHz))
	for i, f := range freqHz {
		k := math.Tan(math.Pi * min(f/rateHz, 0.5))
		dst[i] = k * k
	}
	return dst
}

// Multiply multiplies power[i] in place by |H|² at t[i], see [Warp]. The two must have
// equal length.
func (m *Magnitude) Multiply(power, t []float64) {
	num, den := m.num, m.den
	for i, t := range t {
		power[i] *= num.at(t) / den.at(t)
	}
}

// PartialsDB multiplies as [Magnitude.Multiply] does and writes the partial
// derivatives of the response in dB at t[i] to dst[ByLnFreq][i], dst[ByGainDB][i] and
// dst[ByWidth][i]. All slices must have equal length. Where |H| is 0 the derivatives
// are NaN.
func (m *Magnitude) PartialsDB(dst *[3][]float64, power, t []float64) {
	const dbPerNeper = 10 / math.Ln10 // of power
	num, den, np, dp := m.num, m.den, m.numPart, m.denPart
	power = power[:len(t)]
	f, g, w := dst[ByLnFreq][:len(t)], dst[ByGainDB][:len(t)], dst[ByWidth][:len(t)]
	for i, t := range t {
		n, d := num.at(t), den.at(t)
		perN, perD := dbPerNeper/n, dbPerNeper/d
		power[i] *= n / d
		f[i] = np[ByLnFreq].at(t)*perN - dp[ByLnFreq].at(t)*perD
		g[i] = np[ByGainDB].at(t)*perN - dp[ByGainDB].at(t)*perD
		w[i] = np[ByWidth].at(t)*perN - dp[ByWidth].at(t)*perD
	}
}

// ResponseDB writes the combined response of all filters in dB at each frequency to
// dst (nil: a new slice) and returns it. No filters give 0 dB. Frequencies above
// rateHz/2 are taken as rateHz/2; a zero of the response gives -Inf. It panics if dst
// has another length than freqHz or [Filter.Check] fails for any filter at rateHz.
func ResponseDB(dst []float64, filters []Filter, freqHz []float64, rateHz float64) []float64 {
	dst = sized(dst, len(freqHz))
	for i := range dst {
		dst[i] = 1
	}
	t := Warp(nil, freqHz, rateHz)
	for _, f := range filters {
		for _, m := range f.Magnitudes(rateHz) {
			m.Multiply(dst, t)
		}
	}
	for i, power := range dst {
		dst[i] = powerToDB(power)
	}
	return dst
}

// sized returns a slice of n values: dst, or a new one if dst is nil. It panics if dst
// has any other length.
func sized(dst []float64, n int) []float64 {
	if dst == nil {
		return make([]float64, n)
	}
	if len(dst) != n {
		panic("biquad: dst has another length than the frequencies")
	}
	return dst
}
