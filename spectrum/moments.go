package spectrum

import (
	"math"

	"github.com/mjibson/go-dsp/window"
)

// moments analyses one short moment out of each window of an [Analyser]. Some moments
// fall between attacks; a whole window always mixes the two.
//
// Power densities are averaged by their cube roots, so that a rare attack 40 dB above the
// rest weighs 20 times as much as it, not 10⁴ times, and silence nothing. Our choice:
// exponents of 0.3 to 0.4 do equally well in TestCutoffs of match/cli.
type moments struct {
	weights []float64 // of a Hann window, scaled so that |X|² is a density
	z       []complex128
	plan    *Transform
	sum     []float64 // of cube roots, bins 0…N/2
	count   int
}

// momentMaxSec bounds the length of a moment, which is a power of two of frames: 12 ms at
// 44.1 kHz. Our choice: lossy encoders have short blocks of 3 to 6 ms and long ones of 23
// to 46 ms. In TestCutoffs 9 ms does equally well; 6 and 23 ms are worse.
const momentMaxSec = 0.0125

func newMoments(rateHz float64) *moments {
	length := TransformLength(int(momentMaxSec*rateHz)+1) / 2
	m := &moments{weights: window.Hann(length + 1)[:length], // as in weights: periodic
		z: make([]complex128, length), plan: NewTransform(length), sum: make([]float64, length/2+1)}
	scaleToDensity(m.weights, rateHz)
	return m
}

// add takes one moment of a window of sound. From window to window its place advances by
// the golden ratio, which never falls into step with a tempo.
func (m *moments) add(left, right []float64) {
	length := len(m.z)
	at := int(math.Mod(float64(m.count)*(math.Phi-1), 1) * float64(len(left)-length))
	left, right = left[at:][:length], right[at:][:length]
	for n, w := range m.weights {
		m.z[n] = complex(w*left[n], w*right[n])
	}
	m.plan.Forward(m.z)
	for k := range m.sum {
		m.sum[k] += math.Cbrt(binPower(m.z[k], m.z[(length-k)%length]))
	}
	m.count++
}

// SteadyDensity returns a mean power spectral density to which attacks contribute little:
// the cube of the mean cube root over one moment of about 10 ms from each window. It is in
// power per Hz (both channels summed), at multiples of stepHz from 0 to half the rate.
// Before the first window it is all 0.
func (a *Analyser) SteadyDensity() (density []float64, stepHz float64) {
	m := a.moments
	density = make([]float64, len(m.sum))
	for k, sum := range m.sum {
		mean := sum / float64(max(1, m.count))
		density[k] = mean * mean * mean
	}
	return density, a.rateHz / float64(len(m.z))
}
