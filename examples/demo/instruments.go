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

// leadLine is two slightly detuned sawtooths through a resonant low-pass that opens with each note and stays near 3 kHz,
// with a late vibrato. Figures: our choice, by ear.
func leadLine(n note, noise *rand.PCG) (func() float64, float64) {
	const (
		releaseSec = 0.07
		detune     = 1.004 // 7 cents
	)
	freqHz := n.freqHz()
	loud := newEnvelope(0.018, 0.4, 0.75, 0.95*n.durSec, releaseSec)
	bright := newEnvelope(0.03, 0.35, 0.5, n.durSec, 0.15)
	vib := vibrato(5.4, 18, 0.3)
	one, two := saw{phase: 0.5}, saw{phase: float64(noise.Uint64()>>11) / (1 << 53)}
	var pass svf
	frame := 0
	return func() float64 {
		if frame%tuneEvery == 0 {
			pass.tune(500+freqHz+(1200+2200*n.loud)*bright.level, 0.7)
		}
		frame++
		bright.next()
		f := freqHz * vib()
		y, _, _ := pass.next(0.5 * (one.next(f) + two.next(f*detune)))
		return 0.3 * n.loud * loud.next() * y
	}, n.durSec + silentAfter*releaseSec
}

// pad is a soft sustained sawtooth. Two of them, detuned and panned apart, sound wide. Figures: our choice, by ear.
func pad(n note, noise *rand.PCG) (func() float64, float64) {
	const releaseSec = 0.25
	freqHz := n.freqHz()
	loud := newEnvelope(0.7, 1, 1, n.durSec, releaseSec)
	osc := saw{phase: float64(noise.Uint64()>>11) / (1 << 53)}
	var pass svf
	frame := 0
	return func() float64 {
		if frame%tuneEvery == 0 {
			pass.tune(600+2600*n.loud*loud.level, 1.3)
		}
		frame++
		y, _, _ := pass.next(osc.next(freqHz))
		return 0.15 * n.loud * loud.next() * y
	}, n.durSec + silentAfter*releaseSec
}

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

// Waveforms: amplitudes from the fundamental on. The pipe of a clarinet is closed at the reed and favours odd harmonics,
// that of a flute is open (N. Fletcher and T. Rossing, The Physics of Musical Instruments, chs. 15 and 16, from memory).
// The figures are our choice, by ear.
var (
	clarinetWave = wave(1, 0.05, 0.62, 0.09, 0.4, 0.14, 0.22, 0.13, 0.13, 0.09, 0.08, 0.05, 0.05, 0.03, 0.03)
	fluteWave    = wave(1, 0.5, 0.26, 0.1, 0.06, 0.03, 0.015)
)

// wind is a wind instrument: a waveform that becomes brighter when it is blown louder, a slow vibrato, and breath.
type wind struct {
	wave                                []float64
	attackSec, releaseSec               float64
	vibratoHz, depthCents, tremble      float64 // tremble: relative change of amplitude per per cent of pitch
	darkHarmonic, brightHarmonics, gain float64 // low-pass as a harmonic, when soft, and its rise when loud
	breath, breathHarmonic              float64
}

func (w wind) sound(n note, noise *rand.PCG) (func() float64, float64) {
	freqHz := n.freqHz()
	loud := newEnvelope(w.attackSec, 0.7, 0.82, 0.96*n.durSec, w.releaseSec)
	vib := vibrato(w.vibratoHz, w.depthCents, 0.35)
	osc := cycle{wave: w.wave}
	var pass, air svf
	air.tune(w.breathHarmonic*freqHz, 1.5)
	frame := 0
	return func() float64 {
		if frame%tuneEvery == 0 {
			pass.tune(freqHz*(w.darkHarmonic+w.brightHarmonics*n.loud*loud.level), 1.2)
		}
		frame++
		v := vib()
		low, _, _ := pass.next(osc.next(freqHz * v))
		_, hiss, _ := air.next(white(noise))
		return w.gain * n.loud * loud.next() * (low*(1+w.tremble*100*(v-1)) + w.breath*hiss)
	}, n.durSec + silentAfter*w.releaseSec
}

var clarinet instrument = wind{
	wave: clarinetWave, attackSec: 0.045, releaseSec: 0.045, vibratoHz: 5, depthCents: 5, tremble: 0.05,
	darkHarmonic: 2, brightHarmonics: 8, gain: 0.3, breath: 0.03, breathHarmonic: 5,
}.sound

var flute instrument = wind{
	wave: fluteWave, attackSec: 0.06, releaseSec: 0.06, vibratoHz: 5.2, depthCents: 12, tremble: 0.25,
	darkHarmonic: 1.5, brightHarmonics: 5, gain: 0.32, breath: 0.09, breathHarmonic: 2.2,
}.sound
