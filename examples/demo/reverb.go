package demo

import "math"

const lines = 8

// room describes a reverberation.
type room struct {
	preDelaySec, t60Sec, size float64 // size multiplies the delays
	dampHz                    float64 // above this frequency the decay is faster
	lowCutHz                  float64 // low cut before the room
}

// delaySec are the delays at size 1. Our choice: no two share a simple ratio, spread over a factor of two and a half.
var delaySec = [lines]float64{0.0297, 0.0347, 0.0399, 0.0453, 0.0511, 0.0577, 0.0647, 0.0739}

// reverb is a feedback delay network: eight delays that feed each other through a Householder matrix, each with a
// first-order low-pass and the gain 10^(−3·delay/T60) in its path.
// Source: J.-M. Jot and A. Chaigne, "Digital Delay Networks for Designing Artificial Reverberators", 90th AES Convention,
// 1991, preprint 3030 (loss per delay and the low-pass); the matrix I − (2/N)·11ᵀ is also named there; from memory.
type reverb struct {
	pre        [2][]float64
	preAt      int
	cut        [2]svf
	delay      [lines][]float64
	at         [lines]int
	gain, last [lines]float64
	damp       float64
}

func newReverb(r room) *reverb {
	v := &reverb{damp: math.Exp(-2 * math.Pi * r.dampHz / RateHz)}
	for ch := range v.pre {
		v.pre[ch] = make([]float64, max(1, int(r.preDelaySec*RateHz)))
		v.cut[ch].tune(r.lowCutHz, math.Sqrt2)
	}
	for i, sec := range delaySec {
		v.delay[i] = make([]float64, int(sec*r.size*RateHz))
		v.gain[i] = math.Pow(10, -3*sec*r.size/r.t60Sec)
	}
	return v
}

// add adds the room's response to send to out. Both are [channel][frame] with two channels and the same length.
func (v *reverb) add(out, send [][]float64) {
	for n := range out[0] {
		var in [2]float64
		for ch := range in {
			_, _, high := v.cut[ch].next(send[ch][n])
			in[ch] = v.pre[ch][v.preAt]
			v.pre[ch][v.preAt] = high
		}
		v.preAt++
		if v.preAt == len(v.pre[0]) {
			v.preAt = 0
		}
		var sum, left, right float64
		for i := range v.delay {
			y := v.delay[i][v.at[i]]
			v.last[i] = y + (v.last[i]-y)*v.damp
			sum += v.last[i] * v.gain[i]
			// Different signs for the channels decorrelate the two sides of the room.
			if i%2 == 0 {
				left += v.last[i] * sign[i]
			} else {
				right += v.last[i] * sign[i]
			}
		}
		out[0][n] += left
		out[1][n] += right
		for i := range v.delay {
			v.delay[i][v.at[i]] = in[i%2]*sign[(i+3)%lines] + v.last[i]*v.gain[i] - 2.0/lines*sum
			v.at[i]++
			if v.at[i] == len(v.delay[i]) {
				v.at[i] = 0
			}
		}
	}
}

var sign = [lines]float64{0.5, 0.5, -0.5, 0.5, 0.5, -0.5, -0.5, -0.5}
