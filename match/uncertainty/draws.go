package uncertainty

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/spectrum"
	"toneplumb/spectrum/align"
	"toneplumb/spectrum/measure"
)

// Blocks is one side of a [Pair], cut into blocks of rows.
type Blocks []measure.Block

// sum sets dst to the sum of the blocks' powers, block i counted times[i] times, and returns
// the sum of their weights.
func (d Blocks) sum(dst, times []float64) (weight float64) {
	clear(dst)
	for i, n := range times {
		if n == 0 {
			continue
		}
		weight += n * d[i].Weight
		floats.AddScaled(dst, n, d[i].Power)
	}
	return weight
}

// meanDB sets dst to the mean of the blocks in dB, block i counted times[i] times.
func (d Blocks) meanDB(dst []float64, times []float64) {
	total := max(d.sum(dst, times), 1e-30)
	for b, p := range dst {
		dst[b] = 10 / math.Ln10 * math.Log(max(p/total, 1e-30)) // twice as fast as Log10
	}
}

// Blocks are measure.BlockSec long if that gives between fewest and most of them. A shorter
// recording is cut into shorter blocks, so that there is something to draw from; a longer one
// into longer blocks, which lose no information. Our choice.
const fewestBlocks, mostBlocks = 8, 60

// blockRows returns how many rows a block has, given the weight of each row.
func blockRows(r *measure.Recording, weights []float64) int {
	sec := int(floats.Sum(weights) * float64(r.RowSec))
	length := measure.BlockSec
	if sec < fewestBlocks*measure.BlockSec {
		length = sec / fewestBlocks
	}
	if most := mostBlocks * measure.BlockSec; sec > most {
		length *= (sec + most - 1) / most
	}
	return max(1, length/r.RowSec)
}

// Pair is a mix and a reference, both in blocks.
type Pair struct {
	Mix, Reference Blocks
	Same           bool // the reference is a copy: block k is the same moment on both sides
}

// Cut returns a mix and a reference in blocks, given the weight of each row (0 to 1). It drops
// blocks without music; of a copy, those without music on either side.
func Cut(mix, ref *measure.Recording, mixWeights, refWeights []float64, copied align.Copy) Pair {
	rows := blockRows(mix, mixWeights)
	mixBlocks := mix.Blocks(mixWeights, 0, rows)
	if !copied.Same {
		silent := func(b measure.Block) bool { return !(b.Weight > 0) }
		refBlocks := ref.Blocks(refWeights, 0, blockRows(ref, refWeights))
		return Pair{slices.DeleteFunc(mixBlocks, silent), slices.DeleteFunc(refBlocks, silent), false}
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

// Draws holds how many times each block counts in one bootstrap replicate, per pair.
type Draws struct {
	pairs    []Pair
	Mix, Ref [][]float64 // indexed by pair, then by block
}

func newDraws(pairs []Pair) *Draws {
	d := &Draws{pairs: pairs}
	for _, p := range pairs {
		d.Mix = append(d.Mix, make([]float64, len(p.Mix)))
		d.Ref = append(d.Ref, make([]float64, len(p.Reference)))
	}
	return d
}

// next draws the blocks anew: those of the mix once for all references, and for a copy of the
// mix's song the same blocks on both sides.
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

// Once returns the draw that counts every block once: the recordings themselves.
func Once(pairs []Pair) *Draws {
	d := newDraws(pairs)
	for i := range pairs {
		floats.AddConst(1, d.Mix[i])
		floats.AddConst(1, d.Ref[i])
	}
	return d
}

// draw sets times to how often each of its n blocks comes up in n draws with replacement.
func draw(rng *rand.Rand, times []float64) {
	clear(times)
	for range times {
		times[rng.IntN(len(times))]++
	}
}

// Mean returns the mean power per band, with block i counted times[i] times.
func (d Blocks) Mean(times []float64) []float64 {
	power := make([]float64, spectrum.BandCount)
	total := d.sum(power, times)
	floats.Scale(1/max(total, 1e-30), power)
	return power
}
