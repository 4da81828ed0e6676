package biquad

import "math"

// prototype is one analogue section
//
//	H(s) = (n[0] + n[1]·s + n[2]·s²) / (d[0] + d[1]·s + d[2]·s²)
//
// with its frequency at s = j. The bilinear transform puts it at k = tan(w0/2),
// w0 = 2π·FreqHz/rateHz:
//
//	s = (1/k)·(1 − z⁻¹)/(1 + z⁻¹)
//
// A first-order section has n[2] = d[2] = 0.
type prototype struct {
	n, d [3]dual
	k    dual
}

// prototypes returns the analogue sections of f; the response of f is their product.
func (f Filter) prototypes(rateHz float64) []prototype {
	f.mustCheck(rateHz)
	k := f.warped(rateHz)
	if f.Shape.IsCut() {
		return butterworth(f.Shape, butterworthOrder(f.CutDBPerOct), k)
	}
	return []prototype{f.cookbook(k)}
}

func (f Filter) mustCheck(rateHz float64) {
	if err := f.Check(rateHz); err != nil {
		panic("biquad: " + err.Error())
	}
}

// warped returns k = tan(w0/2).
func (f Filter) warped(rateHz float64) dual {
	w0 := 2 * math.Pi * f.FreqHz / rateHz
	return variable(w0/2, ByLnFreq, w0/2).tan()
}

// cookbook returns the prototype of a shelf or bell, with A = 10^(GainDB/40):
//
//	bell        (s² + s·A/Q + 1) / (s² + s/(A·Q) + 1)
//	low shelf   A·(s² + s·√A/Q + A) / (A·s² + s·√A/Q + 1)
//	high shelf  A·(A·s² + s·√A/Q + 1) / (s² + s·√A/Q + A)
//
// Source: the cookbook, "peakingEQ", "lowShelf", "highShelf". A shelf's width is
// its slope S, so at constant S its Q depends on the gain:
//
//	1/Q = √((A + 1/A)·(1/S − 1) + 2)
func (f Filter) cookbook(k dual) prototype {
	one := constant(1)
	A := variable(f.GainDB, ByGainDB, 1).times(math.Ln10 / 40).exp()
	if f.Shape == Bell {
		invQ := variable(-math.Log(f.Q), ByWidth, -1).exp()
		return prototype{
			n: [3]dual{one, A.mul(invQ), one},
			d: [3]dual{one, A.inverse().mul(invQ), one},
			k: k,
		}
	}
	S := variable(SlopeFromQ(f.Q, f.GainDB), ByWidth, 1)
	invQ := A.add(A.inverse()).mul(S.inverse().plus(-1)).plus(2).sqrt()
	mid := A.sqrt().mul(invQ)
	p := prototype{
		n: [3]dual{A.mul(A), A.mul(mid), A},
		d: [3]dual{one, mid, A},
		k: k,
	}
	if f.Shape == HighShelf { // s → 1/s turns one shelf into the other
		p.n[0], p.n[2] = p.n[2], p.n[0]
		p.d[0], p.d[2] = p.d[2], p.d[0]
	}
	return p
}

// butterworthOrder returns the order of a cut, 6.02 dB/oct per order, or 0 for a
// steepness that is not offered.
func butterworthOrder(cutDBPerOct int) int {
	switch cutDBPerOct {
	case 6, 12, 18, 24, 36, 48:
		return cutDBPerOct / 6
	}
	return 0
}

// butterworth returns the sections of a Butterworth cut: poles evenly spaced on
// the left half of the unit circle, in conjugate pairs
//
//	1 / (s² + s/Q + 1),  1/Q = 2·cos(π·(order − 1 − 2i)/(2·order)),  i = 0, 1, …
//
// and 1/(s + 1) if the order is odd; a low cut has sⁿ as its numerator instead of 1.
// Lowest Q first: a resonant section comes after the others have cut. Source:
// S. Butterworth, "On the Theory of Filter Amplifiers", 1930 (from memory).
func butterworth(shape Shape, order int, k dual) []prototype {
	one := constant(1)
	var sections []prototype
	if order%2 == 1 {
		sections = append(sections, prototype{d: [3]dual{one, one, {}}, k: k})
	}
	for i := order/2 - 1; i >= 0; i-- {
		invQ := 2 * math.Cos(math.Pi*float64(order-1-2*i)/float64(2*order))
		sections = append(sections, prototype{d: [3]dual{one, constant(invQ), one}, k: k})
	}
	for i := range sections {
		p := &sections[i]
		switch {
		case shape == HighCut:
			p.n[0] = one
		case p.isFirstOrder():
			p.n[1] = one
		default:
			p.n[2] = one
		}
	}
	return sections
}

func (p *prototype) isFirstOrder() bool { return p.n[2].v == 0 && p.d[2].v == 0 }

// Coeffs are the coefficients of one digital section with a0 = 1:
//
//	H(z) = (B0 + B1·z⁻¹ + B2·z⁻²) / (1 + A1·z⁻¹ + A2·z⁻²)
//
// A first-order section has B2 = A2 = 0.
type Coeffs struct {
	B0, B1, B2, A1, A2 float64
}

// Sections returns the coefficients of f at rateHz: one section for a shelf or
// bell, up to four for a cut. It panics if [Filter.Check] fails at rateHz.
func (f Filter) Sections(rateHz float64) []Coeffs {
	protos := f.prototypes(rateHz)
	sections := make([]Coeffs, len(protos))
	for i := range protos {
		sections[i] = protos[i].coeffs()
	}
	return sections
}

// coeffs applies the bilinear transform. The cookbook's digital formulas are
// these sums times 2·cos²(w0/2), with a0 divided out here.
func (p *prototype) coeffs() Coeffs {
	k := p.k.v
	n0, n1, n2 := p.n[0].v, p.n[1].v, p.n[2].v
	d0, d1, d2 := p.d[0].v, p.d[1].v, p.d[2].v
	if p.isFirstOrder() {
		a0 := d1 + d0*k
		return Coeffs{B0: (n1 + n0*k) / a0, B1: (n0*k - n1) / a0, A1: (d0*k - d1) / a0}
	}
	n0, n1 = n0*k*k, n1*k
	d0, d1 = d0*k*k, d1*k
	a0 := d2 + d1 + d0
	return Coeffs{
		B0: (n2 + n1 + n0) / a0,
		B1: 2 * (n0 - n2) / a0,
		B2: (n2 - n1 + n0) / a0,
		A1: 2 * (d0 - d2) / a0,
		A2: (d2 - d1 + d0) / a0,
	}
}
