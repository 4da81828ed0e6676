package spectrum

import (
	"fmt"
	"math"

	"github.com/mjibson/go-dsp/window"
)

const (
	// WindowsPerSecond windows stand side by side in each second. Our choice:
	// measured on songs, overlapping them does not change a long-term result.
	WindowsPerSecond = 3
	// WindowSec is the length of a window. It is constant in seconds, not in
	// samples, since otherwise 44.1 against 96 kHz differs by up to 5.5 dB.
	WindowSec = 1.0 / WindowsPerSecond
)

// Bands holds the mean power of one second in each band, full scale ±1.
type Bands struct {
	Power [BandCount]float64 // P_L + P_R
	Cross [BandCount]float64 // Re⟨L·R*⟩; of a mono recording Power/2, as if on both sides
}

// Analyser turns blocks of sound into Bands, one for each second. It holds
// scratch memory: one per goroutine.
//
// Each window of WindowSec is weighted by a periodic Hann window and
// transformed with zero-padding to at least twice its length. Both channels
// ride in one transform, z = l + i·r:
//
//	|Z[k]|² + |Z[N−k]|² = 2(|L|² + |R|²)
//	Z[k]·Z[N−k] = |L|² − |R|² + 2i·Re(L·R*)
//
// The one-sided power spectral density 2|X|²/(rate·Σw²), taken as straight
// between bins, is integrated between the band edges: sharing out whole bins
// instead costs up to 0.66 dB between sample rates. Powers of a second are the
// mean over its windows. A band that reaches above half the rate has power 0.
//
// Source: P. D. Welch, IEEE Trans. Audio Electroacoust. AU-15 (1967), 70–73;
// the rest is our choice.
type Analyser struct {
	rateHz float64
	mono   bool
	emit   func(*Bands)

	weights []float64    // Hann window scaled so that |X|² is a density
	odd     []complex128 // weights times exp(−2πi·n/N): gives the odd bins
	plan    *fft         // of N/2 points
	z, zOdd []complex128
	filled  int // frames of the current window so far
	skip    int // frames to pass over before the next window
	count   int // windows analysed

	density, crossDensity []float64 // sums over the windows of this second, bins 0…N/2
	inSecond              int
	total                 []float64 // sum of density over all windows
	shares                []share
	bands                 Bands
}

// share is how one band sums up the density: Σ weight[i]·density[first+i].
type share struct {
	first  int
	weight []float64
}

// NewAnalyser returns an analyser for blocks [channel][frame] at rateHz. It
// hands each finished second to emit, which must not keep the pointer. It
// panics unless rateHz ≥ 1000 and channels ≥ 1.
func NewAnalyser(rateHz float64, channels int, emit func(*Bands)) *Analyser {
	if !(rateHz >= 1000) || channels < 1 {
		panic(fmt.Sprintf("spectrum: analyser for %g Hz and %d channels", rateHz, channels))
	}
	length := int(rateHz * WindowSec)
	half := nextPowerOfTwo(length) // N/2, so that N ≥ 2·length
	a := &Analyser{
		rateHz: rateHz, mono: channels == 1, emit: emit,
		weights: window.Hann(length + 1)[:length], // go-dsp's is symmetric
		odd:     make([]complex128, length),
		plan:    newFFT(half),
		z:       make([]complex128, half), zOdd: make([]complex128, half),
		density: make([]float64, half+1), crossDensity: make([]float64, half+1),
		total: make([]float64, half+1),
	}
	energy := 0.0
	for _, w := range a.weights {
		energy += w * w
	}
	scale := math.Sqrt(2 / (rateHz * energy))
	for n := range a.weights {
		a.weights[n] *= scale
		sin, cos := math.Sincos(-math.Pi * float64(n) / float64(half))
		a.odd[n] = complex(a.weights[n]*cos, a.weights[n]*sin)
	}
	a.shares = bandShares(rateHz/float64(2*half), rateHz/2)
	return a
}

// Add takes the next block, of any length. Channels after the second are not
// looked at.
func (a *Analyser) Add(block [][]float64) {
	left := block[0]
	right := left
	if !a.mono {
		right = block[1]
	}
	for at := 0; at < len(left); {
		if a.skip > 0 {
			n := min(a.skip, len(left)-at)
			a.skip, at = a.skip-n, at+n
			continue
		}
		n := min(len(a.weights)-a.filled, len(left)-at)
		a.fill(left[at:at+n], right[at:at+n])
		at += n
		if a.filled == len(a.weights) {
			a.analyse()
		}
	}
}

// fill weights the next frames of the current window into both transforms.
func (a *Analyser) fill(left, right []float64) {
	z, zOdd := a.z[a.filled:][:len(left)], a.zOdd[a.filled:][:len(left)]
	w, o := a.weights[a.filled:][:len(left)], a.odd[a.filled:][:len(left)]
	if a.mono {
		for n, l := range left {
			z[n] = complex(w[n]*l, 0)
			zOdd[n] = complex(real(o[n])*l, imag(o[n])*l)
		}
	} else {
		for n, l := range left {
			r := right[n]
			z[n] = complex(w[n]*l, w[n]*r)
			zOdd[n] = complex(real(o[n])*l-imag(o[n])*r, real(o[n])*r+imag(o[n])*l)
		}
	}
	a.filled += len(left)
}

// analyse transforms the full window and adds it to the second. The transform
// of N points, half of them zero, is two of N/2: the even bins are those of the
// window itself, the odd ones those of the window turned by half a bin.
func (a *Analyser) analyse() {
	half := len(a.z)
	clear(a.z[a.filled:])
	clear(a.zOdd[a.filled:])
	a.plan.transform(a.z)
	a.plan.transform(a.zOdd)
	for k := 0; k <= half/2; k++ { // bin 2k mirrors bin N−2k
		a.addBin(2*k, a.z[k], a.z[(half-k)%half])
	}
	for k := 0; k < half/2; k++ { // bin 2k+1 mirrors bin N−2k−1
		a.addBin(2*k+1, a.zOdd[k], a.zOdd[half-1-k])
	}
	a.filled = 0
	a.inSecond++
	a.count++
	start := math.Round(float64(a.count-1) * a.rateHz * WindowSec)
	next := math.Round(float64(a.count) * a.rateHz * WindowSec)
	a.skip = int(next-start) - len(a.weights)
	if a.count%WindowsPerSecond == 0 {
		a.finish()
	}
}

// addBin adds bin k, z, and its mirror image to the densities.
func (a *Analyser) addBin(k int, z, mirror complex128) {
	a.density[k] += (real(z)*real(z) + imag(z)*imag(z) + real(mirror)*real(mirror) + imag(mirror)*imag(mirror)) / 2
	a.crossDensity[k] += (real(z)*imag(mirror) + imag(z)*real(mirror)) / 2
}

// finish hands out the second and starts the next.
func (a *Analyser) finish() {
	for b, s := range a.shares {
		power, cross := 0.0, 0.0
		for i, w := range s.weight {
			power += w * a.density[s.first+i]
			cross += w * a.crossDensity[s.first+i]
		}
		if a.mono {
			cross = power / 2
		}
		a.bands.Power[b] = power / float64(a.inSecond)
		a.bands.Cross[b] = cross / float64(a.inSecond)
	}
	for k, d := range a.density {
		a.total[k] += d
	}
	clear(a.density)
	clear(a.crossDensity)
	a.inSecond = 0
	a.emit(&a.bands)
}

// Flush hands out the last, incomplete second if at least one window of it was
// complete. Nothing may be added afterwards.
func (a *Analyser) Flush() {
	if a.inSecond > 0 {
		a.finish()
	}
}

// Density returns the mean power spectral density of all windows so far, in
// power per Hz (both channels summed) at multiples of stepHz from 0 to half the
// rate. Call it after Flush. Without a window it is all 0.
func (a *Analyser) Density() (density []float64, stepHz float64) {
	density = make([]float64, len(a.total))
	for k, sum := range a.total {
		density[k] = sum / float64(max(1, a.count))
	}
	return density, a.rateHz / float64(2*len(a.z))
}

// bandShares returns for each band the integral over it of the straight-line
// interpolation between bins stepHz apart, as weights of the bins: bin k counts
// by the integral of its triangle max(0, 1 − |f/stepHz − k|).
func bandShares(stepHz, topHz float64) []share {
	// ramp(x) is the integral of the triangle around 0 from −∞ to x.
	ramp := func(x float64) float64 {
		switch {
		case x <= -1:
			return 0
		case x <= 0:
			return (1 + x) * (1 + x) / 2
		case x <= 1:
			return 1 - (1-x)*(1-x)/2
		}
		return 1
	}
	shares := make([]share, BandCount)
	for b := range shares {
		low, high := EdgeHz(b)/stepHz, EdgeHz(b+1)/stepHz
		if EdgeHz(b+1) > topHz {
			continue
		}
		first, last := int(low), int(math.Ceil(high))
		s := share{first: first, weight: make([]float64, last-first+1)}
		for i := range s.weight {
			k := float64(first + i)
			s.weight[i] = stepHz * (ramp(high-k) - ramp(low-k))
		}
		shares[b] = s
	}
	return shares
}
