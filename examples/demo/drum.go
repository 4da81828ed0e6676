package demo

import (
	"math"
	"math/rand/v2"
)

// The drums of a kit; the pitch of a note is the number of the drum.
const (
	kick = iota
	snare
	clap
	closedHat
	openHat
	cymbal
	sweep // a brush drawn over the skin
)

// drum is the sound of one stroke: a sine whose pitch falls, resonances of the skin or the metal, and bursts of noise.
// Gains are amplitudes.
type drum struct {
	fallFromHz, fallToHz, fallSec, fallT60Sec, fallGain float64
	rings                                               []tone
	bursts                                              []burst
}

// burst is noise through a band-pass, or through a high-pass if q is 0. It starts after afterSec and rises over riseSec.
type burst struct{ freqHz, q, gain, afterSec, riseSec, t60Sec float64 }

// tone is a decaying sine.
type tone struct{ freqHz, gain, t60Sec float64 }

// drumMachine is dry and short, with little below the pitch of its kick. All figures in both kits: our choice, by ear.
var drumMachine = map[int]drum{
	kick: {
		fallFromHz: 140, fallToHz: 47, fallSec: 0.022, fallT60Sec: 0.42, fallGain: 1,
		bursts: []burst{{2600, 0.8, 0.35, 0, 0.001, 0.03}},
	},
	snare: {
		rings:  []tone{{196, 0.42, 0.22}, {331, 0.3, 0.16}, {478, 0.16, 0.12}},
		bursts: []burst{{2900, 0.6, 0.62, 0, 0.001, 0.26}, {7000, 0, 0.14, 0, 0.001, 0.2}},
	},
	clap: {bursts: []burst{
		{1500, 1.2, 0.6, 0, 0.001, 0.04}, {1500, 1.2, 0.6, 0.011, 0.001, 0.04}, {1600, 1, 0.7, 0.023, 0.001, 0.3},
	}},
	closedHat: {bursts: []burst{{7200, 0, 0.3, 0, 0.0008, 0.07}, {9800, 2, 0.25, 0, 0.0008, 0.05}}},
	openHat:   {bursts: []burst{{6500, 0, 0.26, 0, 0.001, 0.5}, {9300, 2, 0.2, 0, 0.001, 0.4}}},
	cymbal: {
		rings:  []tone{{3170, 0.03, 1.4}, {4410, 0.03, 1.2}, {5930, 0.03, 1.1}},
		bursts: []burst{{5200, 0, 0.3, 0, 0.002, 2.2}, {8600, 1, 0.25, 0, 0.002, 1.6}},
	},
}

// brushKit is a small acoustic set: a soft full kick, wire brushes, a dark ride cymbal.
var brushKit = map[int]drum{
	kick: {
		fallFromHz: 95, fallToHz: 54, fallSec: 0.04, fallT60Sec: 0.6, fallGain: 0.85,
		rings:  []tone{{108, 0.15, 0.25}},
		bursts: []burst{{420, 0.7, 0.12, 0, 0.003, 0.05}},
	},
	snare: {
		rings:  []tone{{182, 0.16, 0.25}, {287, 0.1, 0.2}},
		bursts: []burst{{1900, 0.5, 0.4, 0, 0.006, 0.22}, {5200, 0, 0.16, 0, 0.008, 0.26}},
	},
	clap:      {rings: []tone{{410, 0.5, 0.06}, {1130, 0.3, 0.05}}, bursts: []burst{{1700, 1, 0.15, 0, 0.001, 0.05}}},
	closedHat: {bursts: []burst{{5600, 0, 0.16, 0, 0.002, 0.09}, {8200, 1.5, 0.2, 0, 0.002, 0.08}}},
	openHat:   {bursts: []burst{{5600, 0, 0.16, 0, 0.003, 0.5}, {8200, 1.5, 0.2, 0, 0.003, 0.5}}},
	cymbal: {
		rings: []tone{
			{523, 0.012, 1.8}, {817, 0.014, 1.6}, {1270, 0.018, 1.5}, {2113, 0.022, 1.3}, {3391, 0.016, 0.9}, {4787, 0.012, 0.7},
		},
		bursts: []burst{{4800, 0, 0.1, 0, 0.002, 1.3}, {9000, 0.8, 0.12, 0, 0.001, 0.5}},
	},
	sweep: {bursts: []burst{{2600, 0.45, 0.2, 0, 0.16, 0.5}, {5600, 0, 0.07, 0, 0.2, 0.45}}},
}

// kit returns the instrument that plays drums. Harder strokes are louder and their noise is brighter.
func kit(drums map[int]drum) instrument {
	return func(n note, noise *rand.PCG) (func() float64, float64) {
		d := drums[int(n.pitch)]
		life := d.fallT60Sec
		rings := make([]ring, len(d.rings))
		for i, r := range d.rings {
			rings[i] = newRing(r.freqHz, r.gain, r.t60Sec)
			life = max(life, r.t60Sec)
		}
		puffs := make([]puff, len(d.bursts))
		for i, b := range d.bursts {
			b.freqHz *= 0.85 + 0.15*n.loud
			puffs[i] = newPuff(b)
			life = max(life, b.afterSec+b.riseSec+b.t60Sec)
		}
		fall, decay := d.fallFromHz-d.fallToHz, fade(max(d.fallSec, 1e-3))
		body, bodyDecay := d.fallGain, fadeT60(max(d.fallT60Sec, 1e-3))
		var phase float64
		return func() float64 {
			y := strike(rings)
			w := white(noise)
			for i := range puffs {
				y += puffs[i].next(w)
			}
			if d.fallGain != 0 {
				y += body * sineAt(phase)
				phase += (d.fallToHz + fall) / RateHz
				fall *= decay
				body *= bodyDecay
			}
			return n.loud * y
		}, life
	}
}

// puff is a burst that is sounding.
type puff struct {
	filter                     svf
	high                       bool
	wait                       int // frames
	level, target, rise, decay float64
}

func newPuff(b burst) puff {
	p := puff{high: b.q == 0, wait: int(b.afterSec * RateHz), target: b.gain, rise: 1 - fade(b.riseSec/3), decay: fadeT60(b.t60Sec)}
	damping := math.Sqrt2
	if !p.high {
		damping = 1 / b.q
	}
	p.filter.tune(b.freqHz, damping)
	return p
}

// next filters one sample of noise.
func (p *puff) next(w float64) float64 {
	if p.wait > 0 {
		p.wait--
		return 0
	}
	p.level += (p.target - p.level) * p.rise
	p.target *= p.decay
	_, band, high := p.filter.next(w)
	if p.high {
		return p.level * high
	}
	return p.level * band
}
