package spectrum

import "math"

// SketchThirds is the number of third octaves of a [Sketch]. Each is eight bands wide, the
// first and the last four.
const SketchThirds = (BandCount + thirdBands/2 + thirdBands - 1) / thirdBands

const (
	thirdBands = BandsPerOctave / 3
	// sketchSize is the number of sums for each third octave. An estimated coherence has
	// the standard deviation 1/√sketchSize, 0.03; a sketch takes 254 kB.
	sketchSize = 1024
)

// SketchDeviation is the standard deviation of what [Coherence] returns.
var SketchDeviation = 1 / math.Sqrt(sketchSize)

// Sketch summarises the spectra of a recording in a fixed number of sums, from which the
// cross-power of any two recordings that were read in step can be estimated.
//
// Each bin of every other window is added, with a random sign, to one of sketchSize sums
// of its third octave; sign and place are the same for all recordings. In the product of
// two sketches each bin therefore meets itself with sign +1, and other bins with random
// signs.
//
// Source: the count sketch of M. Charikar, K. Chen and M. Farach-Colton, Finding
// Frequent Items in Data Streams, ICALP 2002 (from memory). Because the signs are the
// same for all, the sketch of a sum of recordings is the sum of their sketches.
type Sketch struct {
	sums  [SketchThirds][sketchSize]complex64
	power [SketchThirds]float64
}

// add adds the transform of a window, which has an even number of bins, with a weight on
// its amplitudes. thirds gives the third octave of each bin; −1: none.
func (s *Sketch) add(window int, z []complex128, thirds []int8, weight float64) {
	half, w := len(z), complex(weight, 0)
	for k, third := range thirds {
		if third < 0 {
			continue
		}
		a, b := w*z[k], w*z[half-k]
		s.power[third] += real(a)*real(a) + imag(a)*imag(a) + real(b)*real(b) + imag(b)*imag(b)
		h := hash(uint32(window), uint32(k))
		if h>>31 != 0 {
			a = -a
		}
		if h>>30&1 != 0 {
			b = -b
		}
		sums := &s.sums[third]
		sums[h%sketchSize] += complex64(a)
		sums[h>>12%sketchSize] += complex64(b) // the mirror image holds the other channel's share
	}
}

// hash mixes two numbers into 32 bits that look random, to serve as a hash. Source: the finaliser of
// MurmurHash3, A. Appleby, public domain (from memory).
func hash(a, b uint32) uint32 {
	h := a*0x9e3779b1 ^ b*0x85ebca77
	h ^= h >> 16
	h *= 0x85ebca6b
	h ^= h >> 13
	h *= 0xc2b2ae35
	return h ^ h>>16
}

// Coherence estimates Re⟨A·B*⟩/√(⟨|A|²⟩⟨|B|²⟩) of two recordings in each third octave,
// −1 to 1. It is 1 for the same sound at any level, and 0 for sounds that have nothing in
// common and where one is silent.
func Coherence(a, b *Sketch) (c [SketchThirds]float64) {
	for third := range c {
		p := math.Sqrt(a.power[third] * b.power[third])
		if p == 0 {
			continue
		}
		sum := 0.0
		x, y := &a.sums[third], &b.sums[third]
		for i, v := range x {
			sum += float64(real(v))*float64(real(y[i])) + float64(imag(v))*float64(imag(y[i]))
		}
		c[third] = min(max(sum/p, -1), 1)
	}
	return c
}

// Unexplained estimates, for each third octave, the share of a mix's power that no
// equaliser on the sum of its parts could produce: 1 − |⟨S·M*⟩|²/(⟨|S|²⟩⟨|M|²⟩), 0 to 1,
// with the mix M and the sum S of the parts, each multiplied by its gain (a factor on
// amplitudes). It is 0 where the mix is silent.
func Unexplained(mix *Sketch, parts []*Sketch, gains []float64) (share [SketchThirds]float64) {
	var sum [sketchSize]complex128
	for third := range share {
		clear(sum[:])
		for p, part := range parts {
			g := complex(gains[p], 0)
			for i, v := range part.sums[third] {
				sum[i] += g * complex128(v)
			}
		}
		cross, ofSum, ofMix := complex128(0), 0.0, 0.0
		for i, v := range mix.sums[third] {
			m, s := complex128(v), sum[i]
			cross += s * complex(real(m), -imag(m))
			ofSum += real(s)*real(s) + imag(s)*imag(s)
			ofMix += real(m)*real(m) + imag(m)*imag(m)
		}
		if ofMix == 0 {
			continue
		}
		share[third] = 1
		if ofSum > 0 {
			share[third] = max(0, 1-(real(cross)*real(cross)+imag(cross)*imag(cross))/(ofSum*ofMix))
		}
	}
	return share
}

// KeepSketches makes the analyser keep a sketch of the mix and of each track. weight
// returns the factor on a window's power; a window with 0 is left out. Call it before the
// first Add.
func (c *CrossAnalyser) KeepSketches(weight func(window int) float64) {
	c.sketchWeight = weight
	c.sketches = make([]Sketch, len(c.tracks)+1)
	half := len(c.mix.z)
	c.thirds = make([]int8, half/2)
	for k := range c.thirds {
		c.thirds[k] = -1
		hz := float64(k) * c.mix.rateHz / float64(half)
		if band := math.Floor(80 * math.Log10(hz/EdgeHz(0))); band >= 0 && band < BandCount { // 80 a decade, see EdgeHz
			c.thirds[k] = int8((int(band) + thirdBands/2) / thirdBands)
		}
	}
}

// Sketch returns the sketch of a track, or of the mix for −1. It panics without
// [CrossAnalyser.KeepSketches].
func (c *CrossAnalyser) Sketch(track int) *Sketch { return &c.sketches[track+1] }

// sketch adds the current window of a track, or of the mix for −1, to its sketch. It takes
// only every other window, since neighbours overlap by half.
func (c *CrossAnalyser) sketch(track int) {
	if c.sketches == nil || c.window%2 != 0 {
		return
	}
	a := c.mix
	if track >= 0 {
		a = c.tracks[track]
	}
	if w := c.sketchWeight(c.window); w > 0 {
		c.sketches[track+1].add(c.window, a.z, c.thirds, math.Sqrt(w))
	}
}
