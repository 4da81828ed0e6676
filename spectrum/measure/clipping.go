package measure

import (
	"math"
	"slices"
)

const (
	// fullScale is where a sample is at full scale. Our choice: 16 bits end at 0.99997.
	fullScale = 0.9999
	// clippedFrames equal samples in a row at full scale are clipped. Our choice: the top of a wave may be two, and of
	// what exceeds full scale in floating point no two are equal.
	clippedFrames = 3
	// placesPerSec is how many places a second has at most. Our choice: the steps of StepPeak.
	placesPerSec = 10
)

// clipping counts the places where a channel is clipped. The count does not depend on how the sound is cut into blocks.
type clipping struct {
	rateHz       float64
	last         []float64 // of each channel
	run          []int     // equal samples at full scale, of each channel
	frame, after int       // the next place is not before after
	places       int
}

func newClipping(rateHz float64, channels int) *clipping {
	return &clipping{rateHz: rateHz, last: make([]float64, channels), run: make([]int, channels)}
}

func (c *clipping) add(block [][]float64) {
	if !slices.ContainsFunc(block, reachesFullScale) {
		clear(c.run)
		c.frame += len(block[0])
		return
	}
	for i := range block[0] {
		for ch, x := range block {
			switch v := x[i]; {
			case math.Abs(v) < fullScale:
				c.run[ch] = 0
			case c.run[ch] > 0 && v == c.last[ch]:
				c.run[ch]++
			default:
				c.run[ch], c.last[ch] = 1, v
			}
			if c.run[ch] >= clippedFrames && c.frame >= c.after {
				c.places++
				c.after = c.frame + int(c.rateHz/placesPerSec)
			}
		}
		c.frame++
	}
}

func reachesFullScale(x []float64) bool {
	for _, v := range x {
		if math.Abs(v) >= fullScale {
			return true
		}
	}
	return false
}
