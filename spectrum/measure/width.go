package measure

import (
	"math"

	"toneplumb/spectrum"
)

// Width is the ratio of the power of mid, half the sum of the channels, to that of side,
// half their difference: 10·log10(mid/side) in steps of 0.005 dB. The largest value means
// that there is no side, the smallest that there is no mid.
//
// Our choice: two bytes. Re⟨L·R*⟩ would take four, and a side below its precision would be
// lost. Rounding changes the side of a row by 0.0025 dB at most, that of a song by less.
type Width int16

// WidthsPerDB is the number of steps of [Width] in a decibel.
const WidthsPerDB = 200

const (
	noSide = Width(math.MaxInt16)
	noMid  = -noSide
)

// WidthOf returns the width for the powers of mid and side, both in the same unit. A power
// of 0, or below because of rounding, means that there is none. If both are, the result says
// that there is no side.
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

// Split returns the powers of mid and side of a recording with the width w and the power
// P_L + P_R, which is twice their sum.
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
