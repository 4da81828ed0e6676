package biquad

import "math"

// The three parameters of a filter, as indices of partial derivatives.
const (
	ByLnFreq = iota // natural logarithm of FreqHz
	ByGainDB        // GainDB, at constant width
	ByWidth         // ln Q of a bell, slope S of a shelf
	partials        // how many parameters there are
)

// dual is a value with its partial derivatives with respect to a filter's parameters
// (forward-mode differentiation): each formula is written once and yields its
// derivatives too.
type dual struct {
	v float64
	d [partials]float64
}

// constant returns v, which depends on no parameter.
func constant(v float64) dual { return dual{v: v} }

// variable returns v, whose derivative with respect to parameter i is slope.
func variable(v float64, i int, slope float64) dual {
	x := dual{v: v}
	x.d[i] = slope
	return x
}

// chain returns the dual of g(x), given g's value and derivative at x.v.
func (x dual) chain(value, derivative float64) dual {
	r := dual{v: value}
	for i := range r.d {
		r.d[i] = derivative * x.d[i]
	}
	return r
}

func (x dual) add(y dual) dual {
	x.v += y.v
	for i := range x.d {
		x.d[i] += y.d[i]
	}
	return x
}

func (x dual) mul(y dual) dual {
	r := dual{v: x.v * y.v}
	for i := range r.d {
		r.d[i] = x.d[i]*y.v + x.v*y.d[i]
	}
	return r
}

func (x dual) times(c float64) dual { return x.chain(c*x.v, c) }
func (x dual) plus(c float64) dual  { x.v += c; return x }
func (x dual) square() dual         { return x.chain(x.v*x.v, 2*x.v) }
func (x dual) inverse() dual        { return x.chain(1/x.v, -1/(x.v*x.v)) }
func (x dual) exp() dual            { e := math.Exp(x.v); return x.chain(e, e) }
func (x dual) tan() dual            { t := math.Tan(x.v); return x.chain(t, 1+t*t) }
func (x dual) sqrt() dual           { s := math.Sqrt(x.v); return x.chain(s, 0.5/s) }
