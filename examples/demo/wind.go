package demo

import "math/rand/v2"

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
