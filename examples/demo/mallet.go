package demo

import (
	"math"
	"math/rand/v2"
)

// vibraphone is a bar tuned to partials 1 : 4 : 10 (N. Fletcher and T. Rossing, The Physics of Musical Instruments, ch.
// 19, from memory) above resonators that fans, all on one shaft, open and close. Other figures: our choice, by ear.
func vibraphone(n note, noise *rand.PCG) (func() float64, float64) {
	const (
		fanHz, fanDepth = 4.3, 0.3
		releaseSec      = 0.11
	)
	freqHz := n.freqHz()
	ringSec := 4.5 * math.Sqrt(330/freqHz)
	rings := []ring{
		newRing(freqHz, 1, ringSec),
		newRing(4*freqHz, 0.1+0.32*n.loud, 0.35*ringSec),
		newRing(10*freqHz, 0.12*n.loud, 0.08*ringSec),
	}
	loud := newEnvelope(0.003, 1, 1, n.durSec, releaseSec)
	thud := newPuff(burst{freqHz: 1300, q: 0.7, gain: 0.2 * n.loud, riseSec: 0.001, t60Sec: 0.03})
	fan := fanHz * n.startSec
	return func() float64 {
		open := 1 - fanDepth*(0.5-0.5*sineAt(fan))
		fan += fanHz / RateHz
		return 0.5 * n.loud * loud.next() * (open*strike(rings) + thud.next(white(noise)))
	}, min(n.durSec+silentAfter*releaseSec, ringSec)
}

// tines is an electric piano by phase modulation: a sine modulated by a sine of its own frequency, the more the harder it
// is played, and the short high resonance of the tine's tip. Phase modulation at 1 : 1 gives all harmonics (J. Chowning,
// "The Synthesis of Complex Audio Spectra by Means of Frequency Modulation", J. Audio Eng. Soc. 21(7), 1973). Figures: our
// choice, by ear.
func tines(n note, noise *rand.PCG) (func() float64, float64) {
	const releaseSec = 0.09
	freqHz := n.freqHz()
	ringSec := 5 * math.Sqrt(260/freqHz)
	bend, bendDecay := (0.35+1.3*n.loud)/(2*math.Pi), fade(0.5)
	level, decay := 1.0, fadeT60(ringSec)
	tip := newRing(7.13*freqHz, 0.16*n.loud, 0.35)
	loud := newEnvelope(0.004, 1, 1, n.durSec, releaseSec)
	var phase float64
	return func() float64 {
		y := level*sineAt(1+phase+bend*sineAt(phase)) + tip.next()
		phase += freqHz / RateHz
		if phase >= 1 {
			phase--
		}
		level *= decay
		bend *= bendDecay
		return 0.4 * n.loud * loud.next() * y
	}, min(n.durSec+silentAfter*releaseSec, ringSec)
}
