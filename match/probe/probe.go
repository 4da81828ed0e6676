// Package probe measures an equaliser and learns what its dials mean.
//
// The [Probe] is played through the equaliser at known settings ([Plan]) and each pass is recorded
// as a print. [Reader.Read] finds the probe in a print and returns the equaliser's [Response],
// [Learn] finds what the dials mean, and [Equaliser.WriteDescription] writes the description that
// --eq reads. [NewTransferFunction] measures the response from music before and after instead.
//
// The package reads no flags and prints nothing; sound comes in as blocks or as [audio.Source].
package probe

import "math"

// Probe is the sound that is played through an equaliser: silence, a level mark, an exponential
// sine sweep, silence for the ringing, a second mark, silence. It is defined in seconds, so
// that a session at another rate plays the same probe. Source of the sweep: A. Farina,
// "Simultaneous Measurement of Impulse Response and Distortion with a Swept-Sine Technique", AES
// 108th Convention, 2000 (from memory):
//
//	x(t) = sin(2π·f1·L·(exp(t/L) − 1)),  L = T/ln(f2/f1)
type Probe struct {
	RateHz int // rate of its file, 8000 to 192000
}

// All our choice. The peak of −18 dBFS leaves room for a boost of 12 dB. The sweep is long enough
// that noise at −80 dBFS moves no third octave by 0.01 dB. The silence after it lets a Q of 10 at
// 20 Hz decay by 60 dB.
const (
	probePeak = 0.125 // −18.06 dBFS
	guardSec  = 0.5   // silence at both ends and around the first mark
	markSec   = 0.5
	markHz    = 1000.0
	sweepSec  = 12.0
	ringSec   = 1.5
	lowHz     = 10.0 // where the sweep starts
	topShare  = 0.98 // of half the rate, where it ends
	fadeInSec = 0.1  // of the sweep: 10 Hz is over before 11
	fadeSec   = 0.01 // of its end and of the marks

	firstMarkSec  = guardSec
	sweepAtSec    = firstMarkSec + markSec + guardSec
	secondMarkSec = sweepAtSec + sweepSec + ringSec
	endSec        = secondMarkSec + markSec
	// ProbeSec is the length of the probe in seconds.
	ProbeSec = endSec + guardSec
)

// Sound returns the probe at rateHz, one channel, full scale ±1. The part of the sweep above half
// of a lower rate is silence.
func (p Probe) Sound(rateHz int) []float64 {
	rate := float64(rateHz)
	x := make([]float64, int(math.Round(ProbeSec*rate)))
	for i := range x {
		sec := float64(i) / rate
		x[i] = probePeak * (mark(sec-firstMarkSec) + mark(sec-secondMarkSec) + p.sweep(sec-sweepAtSec, rate))
	}
	return x
}

func (p Probe) topHz() float64 { return topShare * float64(p.RateHz) / 2 }

// growSec returns L, the time in which the sweep's frequency grows by a factor of e.
func (p Probe) growSec() float64 { return sweepSec / math.Log(p.topHz()/lowHz) }

func (p Probe) sweep(sec, rateHz float64) float64 {
	L := p.growSec()
	hz := lowHz * math.Exp(sec/L)
	if sec < 0 || sec >= sweepSec || hz >= topShare*rateHz/2 {
		return 0
	}
	left := sweepSec - sec
	if end := L * math.Log(topShare*rateHz/2/lowHz); end < sweepSec {
		left = end - sec
	}
	return fade(sec/fadeInSec) * fade(left/fadeSec) * math.Sin(2*math.Pi*lowHz*L*(math.Exp(sec/L)-1))
}

func mark(sec float64) float64 {
	if sec < 0 || sec >= markSec {
		return 0
	}
	return fade(sec/fadeSec) * fade((markSec-sec)/fadeSec) * math.Sin(2*math.Pi*markHz*sec)
}

// fade rises from 0 at 0 to 1 at 1 as half a cosine.
func fade(x float64) float64 {
	if x >= 1 {
		return 1
	}
	return (1 - math.Cos(math.Pi*x)) / 2
}

// ProbeCaution is shown wherever the probe is written or asked for. README.md has the limits for
// safe listening.
const ProbeCaution = "The sweep is for printing, not for listening: mute or turn down monitors and headphones, or print offline. At −18 dBFS it is steady sound that grows shrill, and a boost makes it louder; tweeters and ears tire before it sounds loud."
