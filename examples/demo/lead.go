package demo

import "math/rand/v2"

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
