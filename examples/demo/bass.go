package demo

import (
	"math"
	"math/rand/v2"
)

// synthBass is a sawtooth through a low-pass that closes after each attack. A low cut weakens its fundamental, a
// typical mistake on small loudspeakers. Figures: our choice, by ear.
func synthBass(n note, noise *rand.PCG) (func() float64, float64) {
	const releaseSec = 0.03
	freqHz := n.freqHz()
	loud := newEnvelope(0.006, 0.5, 0.55, 0.85*n.durSec, releaseSec)
	bright := newEnvelope(0.004, 0.16, 0.25, n.durSec, 0.1)
	osc := saw{phase: 0.5}
	var pass, cut svf
	cut.tune(48, 1.3)
	frame := 0
	return func() float64 {
		if frame%tuneEvery == 0 {
			pass.tune(2*freqHz+(700+1100*n.loud)*bright.level, 0.8)
		}
		frame++
		bright.next()
		y, _, _ := pass.next(osc.next(freqHz))
		_, _, y = cut.next(y)
		return 0.5 * n.loud * loud.next() * y
	}, n.durSec + silentAfter*releaseSec
}

// tuneEvery is the number of frames for which a moving filter keeps its frequency: 0.7 ms.
const tuneEvery = 32

// pluckedBass is a stopped string, plucked near the end of the fingerboard: partials k with amplitude sin(πk·pluckAt)/k,
// each decaying faster than the one below, and the thud of the finger. The displacement of an ideal plucked string has
// amplitudes that fall as 1/k² (N. Fletcher and T. Rossing, The Physics of Musical Instruments, ch. 2, from memory); its
// velocity, which a pickup or the bridge gives, as 1/k. Other figures: our choice, by ear.
func pluckedBass(n note, noise *rand.PCG) (func() float64, float64) {
	const (
		partials   = 14
		pluckAt    = 0.17
		stiffness  = 2e-4
		releaseSec = 0.05
	)
	rings := make([]ring, partials)
	for i := range rings {
		k := float64(i + 1)
		gain := math.Sin(math.Pi*k*pluckAt) / k * math.Pow(0.6+0.4*n.loud, k-1)
		rings[i] = newRing(n.freqHz()*k*math.Sqrt(1+stiffness*k*k), gain, 3.4/math.Pow(k, 0.85))
	}
	loud := newEnvelope(0.007, 1, 1, 0.92*n.durSec, releaseSec)
	thud := newPuff(burst{freqHz: 700, q: 0.6, gain: 0.12, riseSec: 0.003, t60Sec: 0.06})
	return func() float64 {
		return 0.7 * n.loud * (loud.next()*strike(rings) + thud.next(white(noise)))
	}, n.durSec + silentAfter*releaseSec
}
