package spectrum

// Transform is a plan for the complex discrete Fourier transform of one length, a
// power of two of 2 or more:
//
//	X[k] = Σ x[n]·exp(−2πi·k·n/N),  x[n] = 1/N·Σ X[k]·exp(2πi·k·n/N)
//
// It holds scratch memory, so each goroutine needs its own; a plan for N values takes
// 28·N bytes.
type Transform struct{ plan *fft }

// NewTransform returns a plan for n values. It panics unless n is a power of two of 2 or
// more.
func NewTransform(n int) *Transform { return &Transform{newFFT(n)} }

// TransformLength returns the smallest length of a [Transform] that holds n values, n ≥ 1.
func TransformLength(n int) int { return nextPowerOfTwo(max(n, 2)) }

// Forward overwrites x, of the plan's length, with its transform.
func (t *Transform) Forward(x []complex128) { t.plan.transform(x) }

// Inverse overwrites X, of the plan's length, with its inverse transform, the 1/N included.
func (t *Transform) Inverse(X []complex128) {
	n := t.plan.n
	t.plan.transform(X)
	scale := complex(1/float64(n), 0)
	X[0] *= scale
	X[n/2] *= scale
	for k := 1; k < n/2; k++ { // the forward transform of X is n·x in reverse order
		X[k], X[n-k] = X[n-k]*scale, X[k]*scale
	}
}
