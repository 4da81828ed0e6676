package demo

import (
	"math"
	"math/rand/v2"
)

// RateHz is the sample rate of all sound in this package.
const RateHz = 44100

// instrument starts a note. next returns the samples of its one channel, one per call; after lifeSec the note has decayed.
// All random numbers come from noise.
type instrument func(n note, noise *rand.PCG) (next func() float64, lifeSec float64)

// white returns a random number, uniform within ±1.
func white(noise *rand.PCG) float64 { return float64(int64(noise.Uint64())) / (1 << 63) }

// fade returns the factor per sample of a decay to 1/e in sec seconds.
func fade(sec float64) float64 { return math.Exp(-1 / (sec * RateHz)) }

// fadeT60 returns the factor per sample of a decay by 60 dB in sec seconds.
func fadeT60(sec float64) float64 { return math.Pow(10, -3/(sec*RateHz)) }

// envelope changes exponentially: towards 1 for attack frames, then towards sustain, and towards 0 from frame hold on.
type envelope struct {
	level, sustain      float64
	attack, hold, frame int
	up, down, release   float64 // factors per sample on the remaining distance
}

// newEnvelope returns an envelope, given the time of the rise, the time constants of the decay to sustain and of the
// release, and the time from the start to the release.
func newEnvelope(attackSec, decaySec, sustain, holdSec, releaseSec float64) envelope {
	attack := int(attackSec * RateHz)
	const rises = 3 // our choice: 95 % of the way when the attack ends
	return envelope{
		sustain: sustain, attack: attack, hold: max(attack, int(holdSec*RateHz)),
		up: fade(attackSec / rises), down: fade(decaySec), release: fade(releaseSec),
	}
}

func (e *envelope) next() float64 {
	switch {
	case e.frame < e.attack:
		e.level = 1 + (e.level-1)*e.up
	case e.frame < e.hold:
		e.level = e.sustain + (e.level-e.sustain)*e.down
	default:
		e.level *= e.release
	}
	e.frame++
	return e.level
}

// silentAfter is the number of time constants of release after which a note is inaudible: e^−6 is −52 dB, and a ramp
// follows.
const silentAfter = 6

// svf is a second-order low-pass, band-pass and high-pass in one, whose frequency may change while it runs. Damping is
// 1/Q; the band-pass has a gain of 1 at its centre.
// Source: V. Zavalishin, The Art of VA Filter Design, rev. 2, ch. 4 (trapezoidal state-variable filter); from memory.
type svf struct{ g, damping, scale, s1, s2 float64 }

func (f *svf) tune(freqHz, damping float64) {
	f.g = math.Tan(math.Pi * min(freqHz, 0.45*RateHz) / RateHz)
	f.damping = damping
	f.scale = 1 / (1 + f.g*(f.g+damping))
}

func (f *svf) next(x float64) (low, band, high float64) {
	band = (f.s1 + f.g*(x-f.s2)) * f.scale
	low = f.s2 + f.g*band
	high = x - f.damping*band - low
	f.s1 = 2*band - f.s1
	f.s2 = 2*low - f.s2
	return low, f.damping * band, high
}

// saw is a sawtooth oscillator of ±1 whose step is smoothed over two samples, which keeps aliasing low.
// Source: V. Välimäki and A. Huovilainen, "Antialiasing Oscillators in Subtractive Synthesis", IEEE Signal Processing
// Magazine 24(2), 2007 (polynomial band-limited step); from memory.
type saw struct{ phase float64 } // 0 to 1

func (s *saw) next(freqHz float64) float64 {
	step := freqHz / RateHz
	s.phase += step
	if s.phase >= 1 {
		s.phase--
	}
	y := 2*s.phase - 1
	switch {
	case s.phase < step:
		t := s.phase/step - 1
		y += t * t
	case s.phase > 1-step:
		t := (s.phase-1)/step + 1
		y -= t * t
	}
	return y
}

// ring is a decaying sine that starts at 0: y[n] = 2r·cos(w)·y[n−1] − r²·y[n−2].
type ring struct{ y1, y2, c1, c2 float64 }

// newRing returns a ring; it is silent if the frequency is 0.45 of the sample rate or more.
func newRing(freqHz, gain, t60Sec float64) ring {
	if freqHz >= 0.45*RateHz {
		return ring{}
	}
	r, w := fadeT60(t60Sec), 2*math.Pi*freqHz/RateHz
	return ring{y1: 0, y2: -gain * math.Sin(w) / r, c1: 2 * r * math.Cos(w), c2: r * r}
}

func (r *ring) next() float64 {
	y := r.c1*r.y1 - r.c2*r.y2
	r.y2, r.y1 = r.y1, y
	return y
}

// strike returns the sum of the next samples of rings.
func strike(rings []ring) (y float64) {
	for i := range rings {
		y += rings[i].next()
	}
	return y
}

// waveLen is the length of a wave table. Our choice: with linear interpolation the error of harmonic k is at most
// (πk/waveLen)²/2, −70 dB for the 16th.
const waveLen = 2048

// wave returns one cycle of a sum of sines as a wave table, given their amplitudes from the fundamental on. Its first
// point is repeated at the end.
func wave(amplitudes ...float64) []float64 {
	w := make([]float64, waveLen+1)
	for i := range w {
		for k, a := range amplitudes {
			w[i] += a * math.Sin(2*math.Pi*float64((k+1)*i%waveLen)/waveLen)
		}
	}
	return w
}

// cycle is an oscillator that reads a wave table.
type cycle struct {
	wave  []float64
	phase float64 // 0 to 1
}

func (c *cycle) next(freqHz float64) float64 {
	y := waveAt(c.wave, c.phase)
	c.phase += freqHz / RateHz
	if c.phase >= 1 {
		c.phase--
	}
	return y
}

// sine is one cycle of a sine; sineAt reads it.
var sine = wave(1)

func sineAt(phase float64) float64 { return waveAt(sine, phase) }

// waveAt reads a wave table at a phase of at least 0, in cycles.
func waveAt(wave []float64, phase float64) float64 {
	at := phase * waveLen
	i := int(at)
	at -= float64(i)
	i %= waveLen
	return wave[i] + at*(wave[i+1]-wave[i])
}

// vibrato returns a function that returns the factor on the frequency, frame by frame. It swings at rateHz by depthCents;
// the depth grows to that over twice delaySec.
func vibrato(rateHz, depthCents, delaySec float64) func() float64 {
	ratio := depthCents * math.Ln2 / 1200
	grow := newEnvelope(delaySec*2, 1, 1, 1e3, 1)
	swing := ring{y2: -math.Sin(2 * math.Pi * rateHz / RateHz), c1: 2 * math.Cos(2*math.Pi*rateHz/RateHz), c2: 1}
	return func() float64 {
		g := grow.next()
		return 1 + ratio*g*g*swing.next()
	}
}
