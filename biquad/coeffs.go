package biquad

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
