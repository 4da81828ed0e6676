package mp3

import "math"

// The hybrid filter bank. Source: ISO/IEC 11172-3, section 2.4.3.4.10, and table B.9 for the alias reduction.

const (
	subbands = 32
	slots    = lines / subbands // samples of each subband in a granule
)

// butterfly holds the factors cs and ca of the alias reduction, from the edge between two subbands outwards.
var butterfly = func() (table [8][2]float32) {
	for i, c := range [8]float64{-0.6, -0.535, -0.33, -0.185, -0.095, -0.041, -0.0142, -0.0037} {
		table[i] = [2]float32{float32(1 / math.Sqrt(1+c*c)), float32(c / math.Sqrt(1+c*c))}
	}
	return table
}()

// reduceAliases applies the alias reduction to the n lowest edges between subbands.
func reduceAliases(x *[lines]float32, n int) {
	for sb := 1; sb <= n; sb++ {
		below, above := (*[8]float32)(x[slots*sb-8:]), (*[8]float32)(x[slots*sb:])
		for i := range butterfly {
			cs, ca := butterfly[i][0], butterfly[i][1]
			u, d := below[7-i], above[i]
			below[7-i] = u*cs - d*ca
			above[i] = d*cs + u*ca
		}
	}
}

// subbandTimes holds the samples that the transforms pass to the synthesis: by slot, then subband.
type subbandTimes [slots][subbands]float32

// hybrid is the state of one channel's transforms.
type hybrid struct {
	overlap [subbands][slots]float32
	ringing int // subbands from this one on have an overlap of zeros
}

// transform turns the lines of a granule, which are zero from limit on, into samples of each subband.
func (h *hybrid) transform(x *[lines]float32, limit int, p *part, out *subbandTimes) {
	sounding := (limit + slots - 1) / slots
	long := sounding // subbands with long blocks
	switch {
	case p.mixed:
		long = 2
		reduceAliases(x, 1)
		sounding = max(sounding, 2)
	case p.shortBlocks:
		long = 0
	case sounding > 0:
		edges := min(sounding, subbands-1)
		reduceAliases(x, edges)
		sounding = edges + 1
		long = sounding
	}
	for sb := range sounding {
		in := (*[slots]float32)(x[slots*sb:])
		switch {
		case sb >= long:
			imdct12(in, &h.overlap[sb], &shortWindows[sb&1], out, sb)
		case p.lowNormal && sb < 2:
			imdct36(in, &h.overlap[sb], &longWindows[sb&1][normalBlocks], out, sb)
		default:
			imdct36(in, &h.overlap[sb], &longWindows[sb&1][p.blockType], out, sb)
		}
	}
	for sb := sounding; sb < h.ringing; sb++ {
		o := &h.overlap[sb]
		for i := range out {
			out[i][sb] = o[i]
		}
		*o = [slots]float32{}
	}
	for sb := max(sounding, h.ringing); sb < subbands; sb++ {
		for i := range out {
			out[i][sb] = 0
		}
	}
	h.ringing = sounding
}
