package measure

import (
	"math"

	"toneplumb/spectrum"
)

// Width is how far the power of mid, half the sum of the channels, lies over that of
// side, half their difference: 10·log10(mid/side) in steps of 0.005 dB. The largest
// says that there is no side, the smallest that there is no mid.
//
// Our choice: two bytes, where Re⟨L·R*⟩ takes four and loses what is narrower than its
// precision. Rounding moves a row's side by 0.0025 dB at most, and a song's by less.
type Width int16

// WidthsPerDB is how many steps of [Width] make a decibel.
const WidthsPerDB = 200

const (
	noSide = Width(math.MaxInt16)
	noMid  = -noSide
)

// WidthOf returns the width of the powers of mid and side, both in the same unit.
// What is 0 or below, as rounding may leave it, is not there; no power at all has no side.
func WidthOf(mid, side float64) Width {
	switch {
	case side <= 0:
		return noSide
	case mid <= 0:
		return noMid
	}
	steps := math.Round(WidthsPerDB * spectrum.PowerToDB(mid/side))
	return Width(min(max(steps, float64(noMid)), float64(noSide)))
}

// Split returns the powers of mid and side in P_L + P_R, which is twice their sum.
func (w Width) Split(power float64) (mid, side float64) {
	switch w {
	case noSide:
		return power / 2, 0
	case noMid:
		return 0, power / 2
	}
	ratio := spectrum.DBToPower(float64(w) / WidthsPerDB)
	return power / 2 * ratio / (ratio + 1), power / 2 / (ratio + 1)
}
