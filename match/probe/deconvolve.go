package probe

import (
	"math"
	"math/cmplx"

	"toneplumb/spectrum"
)

// deconvolver is the probe's spectrum, for recordings of one length.
type deconvolver struct {
	plan   *spectrum.Transform
	n      int
	probe  []complex128
	rateHz float64
}

// spectrum transforms the probe at a rate to n bins.
func (p Probe) spectrum(rateHz, n int) *deconvolver {
	x := p.Sound(rateHz)
	clear(x[:int((sweepAtSec-0.01)*float64(rateHz))]) // the marks are not part of it
	clear(x[int((sweepAtSec+sweepSec+0.01)*float64(rateHz)):])
	r := &deconvolver{plan: spectrum.NewTransform(n), n: n, rateHz: float64(rateHz)}
	r.probe = transformed(r.plan, x[:min(len(x), n)], n)
	return r
}

// transformed returns the n bins of a sound that is padded with silence.
func transformed(plan *spectrum.Transform, x []float64, n int) []complex128 {
	z := make([]complex128, n)
	for i, v := range x {
		z[i] = complex(v, 0)
	}
	plan.Forward(z)
	return z
}

// divide returns the impulse response from the sweep to x: X*·Y/(|X|² + ε). As the probe's power
// falls with frequency, ε is a share of its power near the top; outside the sweep ε would be all
// there is, so those bins are set to 0.
func (r *deconvolver) divide(x []float64, topHz float64) []complex128 {
	y := transformed(r.plan, x, r.n)
	bin := r.rateHz / float64(r.n)
	topHz = min(topHz, topShare*r.rateHz/2)
	least := 0.0
	count := 0
	for k := int(0.8 * topHz / bin); k <= int(0.9*topHz/bin); k++ {
		least += power(r.probe[k])
		count++
	}
	least /= float64(count)
	for k := range y {
		hz := bin * float64(min(k, r.n-k))
		px := power(r.probe[k])
		y[k] *= cmplx.Conj(r.probe[k]) / complex(px+regular*least, 0)
		y[k] *= complex(fade((hz-lowHz)/(0.2*lowHz))*fade((topHz-hz)/(0.02*topHz)), 0)
		if hz < lowHz || hz > topHz {
			y[k] = 0
		}
	}
	r.plan.Inverse(y)
	return y
}

// peakAt returns where the real part is largest in magnitude.
func peakAt(z []complex128) (at int) {
	for i, v := range z {
		if math.Abs(real(v)) > math.Abs(real(z[at])) {
			at = i
		}
	}
	return at
}

func power(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }

// around returns the energy within 10 ms of a place in an impulse response, in dB.
func (r *deconvolver) around(h []complex128, at int) float64 {
	sum, half := 0.0, int(0.01*r.rateHz)
	for i := -half; i <= half; i++ {
		v := real(h[((at+i)%r.n+r.n)%r.n])
		sum += v * v
	}
	return spectrum.PowerToDB(sum)
}

// marked reports whether a level mark's tone holds most of the energy in its time. Half is enough:
// an equaliser may have turned 1 kHz down into the noise.
func (r *deconvolver) marked(x []float64, sec float64) bool {
	from, to := int((sec+0.1*markSec)*r.rateHz), int((sec+0.9*markSec)*r.rateHz)
	if from < 0 || to > len(x) {
		return false
	}
	tone, all := complex(0, 0), 0.0
	for i := from; i < to; i++ {
		s, c := math.Sincos(2 * math.Pi * markHz * float64(i) / r.rateHz)
		tone += complex(x[i]*c, x[i]*s)
		all += x[i] * x[i]
	}
	return all > 0 && 2*power(tone)/float64(to-from) > 0.5*all
}

// noise returns the level between the first mark and the sweep, where there should be silence, in
// dB relative to the probe's sine.
func (r *deconvolver) noise(x []float64, startSec float64) float64 {
	from := int((startSec + firstMarkSec + markSec + 0.3*guardSec) * r.rateHz)
	to := int((startSec + sweepAtSec - 0.1*guardSec) * r.rateHz)
	sum := 0.0
	for _, v := range x[max(0, from):to] {
		sum += v * v
	}
	return spectrum.PowerToDB(sum / float64(to-from) / (probePeak * probePeak / 2))
}
