package uncertainty

import (
	"math"
	"math/rand/v2"

	"toneplumb/spectrum"
	"toneplumb/spectrum/align"
	"toneplumb/spectrum/measure"
)

// Blocks is one side of a pair.
type Blocks []measure.Block

// sum writes the sum of the blocks' power, each counted so many times, and returns that
// of their weights.
func (d Blocks) sum(dst, times []float64) (weight float64) {
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
func (d Blocks) meanDB(dst []float64, times []float64) {
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

// Pair is a mix and a reference in blocks.
type Pair struct {
	Mix, Reference Blocks
	Same           bool // block k of a copy holds the same moment on both sides
}

// Cut returns the mix and the reference in blocks, those left out in which the mix, or the
// reference, holds nothing. The weights say how much of each row counts.
func Cut(mix, ref *measure.Recording, mixWeights, refWeights []float64, copied align.Copy) Pair {
	rows := blockRows(mix, mixWeights)
	mixBlocks := mix.Blocks(mixWeights, 0, rows)
	if !copied.Same {
		return Pair{withMusic(mixBlocks), withMusic(ref.Blocks(refWeights, 0, blockRows(ref, refWeights))), false}
	}
	refBlocks := ref.Blocks(refWeights, -copied.LagSec, rows)
	p := Pair{Same: true}
	for i := range min(len(mixBlocks), len(refBlocks)) {
		if mixBlocks[i].Weight > 0 && refBlocks[i].Weight > 0 {
			p.Mix, p.Reference = append(p.Mix, mixBlocks[i]), append(p.Reference, refBlocks[i])
		}
	}
	return p
}

func withMusic(all Blocks) Blocks {
	var kept Blocks
	for _, b := range all {
		if b.Weight > 0 {
			kept = append(kept, b)
		}
	}
	return kept
}

// Draws holds how often each block counts in one replicate, per pair.
type Draws struct {
	pairs    []Pair
	Mix, Ref [][]float64
}

func newDraws(pairs []Pair) *Draws {
	d := &Draws{pairs: pairs}
	for _, p := range pairs {
		d.Mix = append(d.Mix, make([]float64, len(p.Mix)))
		d.Ref = append(d.Ref, make([]float64, len(p.Reference)))
	}
	return d
}

// next draws the mix once for all references, and with a copy of it the same moments
// on both sides.
func (d *Draws) next(rng *rand.Rand) {
	first := -1
	for i, p := range d.pairs {
		switch {
		case p.Same:
			draw(rng, d.Mix[i])
			copy(d.Ref[i], d.Mix[i])
			continue
		case first < 0:
			draw(rng, d.Mix[i])
			first = i
		default:
			copy(d.Mix[i], d.Mix[first])
		}
		draw(rng, d.Ref[i])
	}
}

// Once counts every block once, as the recordings have them.
func Once(pairs []Pair) *Draws {
	d := newDraws(pairs)
	for i := range pairs {
		for _, times := range [][]float64{d.Mix[i], d.Ref[i]} {
			for k := range times {
				times[k] = 1
			}
		}
	}
	return d
}

// draw sets how often each of n blocks comes in n draws with replacement.
func draw(rng *rand.Rand, times []float64) {
	clear(times)
	for range times {
		times[rng.IntN(len(times))]++
	}
}

// Mean returns the mean power of the blocks, each counted so many times.
func (d Blocks) Mean(times []float64) []float64 {
	power := make([]float64, spectrum.BandCount)
	total := d.sum(power, times)
	for b := range power {
		power[b] /= max(total, 1e-30)
	}
	return power
}
