package spectrum

import (
	"math"

	"github.com/mjibson/go-dsp/window"
)

// moments looks at one short moment out of each window of an Analyser: what sounds
// between attacks, which the whole window always mixes with them.
//
// The power density of a moment is summed up as its cube root, so that a rare attack
// 40 dB above the rest counts 20 times as much, not 10⁴ times, and silence not at
// all. Our choice: exponents of 0.3 to 0.4 do alike in TestCutoffs in match/cli.
type moments struct {
	weights []float64 // of a Hann window, scaled so that |X|² is a density
	z       []complex128
	plan    *fft
	sum     []float64 // of cube roots, bins 0…N/2
	count   int
}

// momentMaxSec bounds a moment, a power of two of frames: 12 ms at 44.1 kHz. Our
// choice: lossy encoders' short blocks are of 3 to 6 ms, their long ones of 23 to 46.
// In TestCutoffs 9 ms do alike; 6 and 23 are worse.
const momentMaxSec = 0.0125

func newMoments(rateHz float64) *moments {
	length := nextPowerOfTwo(int(momentMaxSec*rateHz)+1) / 2
	m := &moments{weights: window.Hann(length + 1)[:length], // as in weights: periodic
		z: make([]complex128, length), plan: newFFT(length), sum: make([]float64, length/2+1)}
	energy := 0.0
	for _, w := range m.weights {
		energy += w * w
	}
	for n := range m.weights {
		m.weights[n] *= math.Sqrt(2 / (rateHz * energy))
	}
	return m
}

// add takes the moment of a window of sound. Where in the window it lies goes by the
// golden ratio from one window to the next, which falls in step with no tempo.
func (m *moments) add(left, right []float64) {
	length := len(m.z)
	at := int(math.Mod(float64(m.count)*(math.Phi-1), 1) * float64(len(left)-length))
	left, right = left[at:][:length], right[at:][:length]
	for n, w := range m.weights {
		m.z[n] = complex(w*left[n], w*right[n])
	}
	m.plan.transform(m.z)
	for k := range m.sum {
		z, mirror := m.z[k], m.z[(length-k)%length]
		m.sum[k] += math.Cbrt((real(z)*real(z) + imag(z)*imag(z) + real(mirror)*real(mirror) + imag(mirror)*imag(mirror)) / 2)
	}
	m.count++
}

// SteadyDensity returns the power spectral density that attacks hardly count in: the
// cube of the mean cube root over one moment of about 10 ms out of each window, in
// power per Hz (both channels summed) at multiples of stepHz from 0 to half the
// rate. Without a window it is all 0.
func (a *Analyser) SteadyDensity() (density []float64, stepHz float64) {
	m := a.moments
	density = make([]float64, len(m.sum))
	for k, sum := range m.sum {
		mean := sum / float64(max(1, m.count))
		density[k] = mean * mean * mean
	}
	return density, a.rateHz / float64(len(m.z))
}
