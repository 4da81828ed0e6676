package measure

import (
	"toneplumb/spectrum/loudness"
)

// GateWeights returns for each second how much of it counts towards a mean
// spectrum, 0 to 1: the share of its 400 ms blocks (those whose middle lies in
// it) that are louder than −70 LUFS and then within 20 LU of the mean of those.
//
// Our choice: the gate of EBU Tech 3342, meant for a loudness range with its
// quiet parts. The −10 LU gate of BS.1770-4 would let an equaliser on one side
// change which parts count, and so tip the curve by up to 0.4 dB; this one tips
// it by 0.02 dB and still drops a hissing intro. A share instead of yes or no
// keeps a second at the border from jumping in whole.
func (r *Recording) GateWeights() []float64 {
	passes := loudness.Gate(r.StepPower, loudness.RangeGateLU)
	weights := make([]float64, r.Seconds)
	counts := make([]int, r.Seconds)
	for i, pass := range passes {
		second := (i + loudness.StepsPerBlock/2) / loudness.StepsPerSecond
		if second >= r.Seconds {
			break
		}
		counts[second]++
		if pass {
			weights[second]++
		}
	}
	for s := range weights {
		weights[s] /= float64(max(1, counts[s]))
	}
	return weights
}
