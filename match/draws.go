package match

import (
	"math"
	"math/rand/v2"

	"toneplumb/spectrum/measure"
)

// blocks is one side of a pair.
type blocks []measure.Block

// sum writes the sum of the blocks' power, each counted so many times, and returns that
// of their weights.
func (d blocks) sum(dst, times []float64) (weight float64) {
	clear(dst)
	for i, n := range times {
		if n == 0 {
			continue
		}
		weight += n * d[i].Weight
		for b, p := range d[i].Power {
			dst[b] += n * p
		}
	}
	return weight
}

// meanDB writes the mean of the blocks, each counted so many times, in dB.
func (d blocks) meanDB(dst []float64, times []float64) {
	total := max(d.sum(dst, times), 1e-30)
	for b, p := range dst {
		dst[b] = 10 / math.Ln10 * math.Log(max(p/total, 1e-30)) // twice as fast as Log10
	}
}

// Blocks are BlockSec long where a recording has between fewest and most of them; a
// shorter one is drawn in shorter blocks, so that there is something to draw from, a
// longer one in longer, which costs nothing in what they tell. Our choice.
const fewestBlocks, mostBlocks = 8, 60

// blockRows returns how many rows a block has, given what counts.
func blockRows(r *measure.Recording, weights []float64) int {
	sum := 0.0
	for _, w := range weights {
		sum += w
	}
	sec := int(sum * float64(r.RowSec))
	length := measure.BlockSec
	if sec < fewestBlocks*measure.BlockSec {
		length = sec / fewestBlocks
	}
	if most := mostBlocks * measure.BlockSec; sec > most {
		length *= (sec + most - 1) / most
	}
	return max(1, length/r.RowSec)
}

// inBlocks returns the mix and the reference of a pair in blocks, those left out in
// which the mix, or the reference, holds nothing. Of a copy block k holds the same
// moment on both sides.
func inBlocks(mix, ref *measure.Recording, mixWeights, refWeights []float64, a alignment) (mixBlocks, refBlocks blocks) {
	rows := blockRows(mix, mixWeights)
	mixBlocks = mix.Blocks(mixWeights, 0, rows)
	if !a.Same {
		return withMusic(mixBlocks), withMusic(ref.Blocks(refWeights, 0, blockRows(ref, refWeights)))
	}
	refBlocks = ref.Blocks(refWeights, -a.LagSec, rows)
	var m, r blocks
	for i := range min(len(mixBlocks), len(refBlocks)) {
		if mixBlocks[i].Weight > 0 && refBlocks[i].Weight > 0 {
			m, r = append(m, mixBlocks[i]), append(r, refBlocks[i])
		}
	}
	return m, r
}

func withMusic(all blocks) blocks {
	var kept blocks
	for _, b := range all {
		if b.Weight > 0 {
			kept = append(kept, b)
		}
	}
	return kept
}

// draws holds how often each block counts in one replicate, per pair.
type draws struct {
	pairs    []pair
	mix, ref [][]float64
}

func newDraws(pairs []pair) *draws {
	d := &draws{pairs: pairs}
	for _, p := range pairs {
		d.mix = append(d.mix, make([]float64, len(p.mixBlocks)))
		d.ref = append(d.ref, make([]float64, len(p.refBlocks)))
	}
	return d
}

// next draws the mix once for all references, and with a copy of it the same moments
// on both sides.
func (d *draws) next(rng *rand.Rand) {
	first := -1
	for i, p := range d.pairs {
		switch {
		case p.same:
			draw(rng, d.mix[i])
			copy(d.ref[i], d.mix[i])
			continue
		case first < 0:
			draw(rng, d.mix[i])
			first = i
		default:
			copy(d.mix[i], d.mix[first])
		}
		draw(rng, d.ref[i])
	}
}

// draw sets how often each of n blocks comes in n draws with replacement.
func draw(rng *rand.Rand, times []float64) {
	clear(times)
	for range times {
		times[rng.IntN(len(times))]++
	}
}
