// Package biquad holds the equaliser filters: their coefficients, their
// response with its derivatives, and cascades that filter sound.
//
// Most callers describe the moves as a slice of [Filter], compute their response with
// [ResponseDB], and run a [Cascade] over the sound.
//
// Shelves and bells are those of R. Bristow-Johnson, Audio EQ Cookbook (W3C
// Working Group Note, 2021), "the cookbook" below. Cuts are Butterworth. All are
// analogue prototypes H(s) put through the bilinear transform with the frequency
// prewarped. The curves are therefore squeezed near half the sample rate, where
// other equalisers may differ.
//
// The package takes and returns numbers. Check filters from outside with
// [Filter.Check]: every other function panics on a Filter that fails it.
//
// It imports no other package of toneplumb.
package biquad

import (
	"fmt"
	"math"
)

// Shape is the kind of a filter.
type Shape uint8

// The shapes. Shelves and bells have a gain, cuts have a steepness.
const (
	LowShelf Shape = iota
	Bell
	HighShelf
	LowCut
	HighCut
)

var shapeNames = [...]string{"low-shelf", "bell", "high-shelf", "low-cut", "high-cut"}

// GainShapes are the shapes with a gain, in the order in which they are listed.
var GainShapes = [...]Shape{LowShelf, Bell, HighShelf}

// String returns the shape's name: "low-shelf", "bell", "high-shelf", "low-cut"
// or "high-cut".
func (s Shape) String() string {
	if int(s) >= len(shapeNames) {
		return fmt.Sprintf("shape %d", uint8(s))
	}
	return shapeNames[s]
}

// ParseShape returns the Shape whose String is word, and reports whether there is one.
func ParseShape(word string) (Shape, bool) {
	for i, name := range shapeNames {
		if word == name {
			return Shape(i), true
		}
	}
	return 0, false
}

// IsCut reports whether s is a cut, which has a steepness instead of a gain and a width.
func (s Shape) IsCut() bool { return s == LowCut || s == HighCut }

// Filter is one move of an equaliser.
type Filter struct {
	Shape Shape

	// FreqHz is a bell's centre, the frequency where a shelf reaches half its
	// gain in dB, and the frequency where a cut is down by 3.01 dB.
	FreqHz float64

	// GainDB is a bell's gain at its centre and a shelf's gain on its plateau.
	// Cuts ignore it.
	GainDB float64

	// Q is the cookbook's, for shelves too (see [QFromSlope]). Cuts ignore it.
	Q float64

	// CutDBPerOct is a cut's steepness: 6, 12, 18, 24, 36 or 48.
	CutDBPerOct int
}

// The largest gain and the range of Q that Check accepts. Our choice: far beyond any
// equaliser's dial, and small enough that no formula here overflows.
const (
	maxGainDB  = 120
	minQ, maxQ = 0.01, 1000
)

// Check returns an error that says why f cannot be designed at rateHz, or nil. It
// requires 0 < FreqHz < rateHz/2; for shelves and bells a gain within ±120 dB and Q
// from 0.01 to 1000; for cuts a steepness of 6, 12, 18, 24, 36 or 48 dB/oct.
func (f Filter) Check(rateHz float64) error {
	switch {
	case f.Shape > HighCut:
		return fmt.Errorf("there is no filter %v", f.Shape)
	case !(rateHz > 0) || math.IsInf(rateHz, 1):
		return fmt.Errorf("a sample rate of %g Hz is impossible", rateHz)
	case !(f.FreqHz > 0 && f.FreqHz < rateHz/2):
		return fmt.Errorf("%v at %g Hz is not between 0 and half the sample rate of %g Hz", f.Shape, f.FreqHz, rateHz)
	case f.Shape.IsCut():
		if butterworthOrder(f.CutDBPerOct) == 0 {
			return fmt.Errorf("%v of %d dB/oct: the steepness must be 6, 12, 18, 24, 36 or 48", f.Shape, f.CutDBPerOct)
		}
	case !(math.Abs(f.GainDB) <= maxGainDB):
		return fmt.Errorf("%v with a gain of %g dB: the limit is ±%d", f.Shape, f.GainDB, maxGainDB)
	case !(f.Q >= minQ && f.Q <= maxQ):
		return fmt.Errorf("%v with Q %g: it must be from %g to %g", f.Shape, f.Q, minQ, float64(maxQ))
	}
	return nil
}
