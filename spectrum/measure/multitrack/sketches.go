package multitrack

import "toneplumb/spectrum"

// gateAt returns the gate of the second that a window's middle is in.
func gateAt(gate []float64, window int) float64 {
	if row := int(spectrum.MiddleSec(window)); row < len(gate) {
		return gate[row]
	}
	return 0
}
