package multitrack

import "toneplumb/spectrum"

// gateAt returns how much of the second in which a window's middle lies counts.
func gateAt(gate []float64, window int) float64 {
	if row := int(spectrum.MiddleSec(window)); row < len(gate) {
		return gate[row]
	}
	return 0
}
