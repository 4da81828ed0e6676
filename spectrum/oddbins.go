package spectrum

import (
	"math"
	"math/cmplx"
)

// fineToHz is the frequency up to which the bins of the zero-padded transform are used.
// Above it a band is more than ten bins of the plain transform wide, and more bins would
// only place its edges more accurately. Our choice, measured on songs at 44.1 against
// 48 kHz: the worst point of the smoothed curve differs by 0.066 dB, and by 0.0067 dB on
// the median song. All bins give 0.058 and 0.0061 dB in nearly twice the time.
const fineToHz = 1000

// oddBins computes the odd bins of the transform of a window that is padded with zeros
// to twice the length of the plain transform; the plain transform gives the even ones.
// The odd bins are those of the window modulated by half a bin,
//
//	X[k+½] = Σ x[n]·exp(−πi·n/M)·exp(−2πi·k·n/M).
//
// For the lowest bins alone the window need not have its full sample rate: it is restored
// from the even bins at the rate that just holds them, as M frames. The bins above reach
// are faded out, since a sharp edge would ring past the window's end.
type oddBins struct {
	z       []complex128 // X[k+½] at k, mirrored by X[M−1−k+½]
	fade    []float64    // weights of the even bins from 0 up; nil if all bins are wanted and the window is used unchanged
	halfBin []complex128 // exp(−πi·n/M)
	plan    *Transform
}

// newOddBins prepares for the odd bins below reach at least, counted in bins of a plain
// transform of half values.
func newOddBins(half, reach int) oddBins {
	m := min(TransformLength(8*reach/3), half) // so that a quarter of the bins is left to fade out
	o := oddBins{z: make([]complex128, m), halfBin: make([]complex128, m), plan: NewTransform(m)}
	for n := range o.halfBin {
		o.halfBin[n] = cmplx.Rect(1, -math.Pi*float64(n)/float64(m))
	}
	if m < half {
		o.fade = make([]float64, m/2)
		for k := range o.fade {
			o.fade[k] = fade(float64(k-reach) / float64(m/2-reach))
		}
	}
	return o
}

// before takes the window of sound, padded with zeros to the length of the plain
// transform, before that is computed.
func (o *oddBins) before(window []complex128) {
	if o.fade == nil {
		copy(o.z, window)
	}
}

// after takes the plain transform and computes the odd bins.
func (o *oddBins) after(even []complex128) {
	m, half := len(o.z), len(even)
	if o.fade != nil {
		o.z[0], o.z[m/2] = even[0], 0
		for k := 1; k < m/2; k++ {
			w := complex(o.fade[k], 0)
			o.z[k], o.z[m-k] = w*even[k], w*even[half-k]
		}
		o.plan.Inverse(o.z)
	}
	for n, w := range o.halfBin {
		o.z[n] *= w
	}
	o.plan.Forward(o.z)
}

// fade falls from 1 at x ≤ 0 to 0 at x ≥ 1: 1 − s(s(x)) with s(x) = sin²(πx/2), which is
// smoother at both ends than 1 − s(x).
func fade(x float64) float64 {
	x = math.Min(math.Max(x, 0), 1)
	s := func(x float64) float64 { return math.Pow(math.Sin(math.Pi/2*x), 2) }
	return 1 - s(s(x))
}
