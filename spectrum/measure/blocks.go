package measure

import (
	"math"

	"toneplumb/spectrum"
)

// BlockSec is the length in seconds of the blocks that are resampled to estimate how
// certain a mean spectrum is. Measured on two halves of a song, made of alternate pieces:
// they are within 95 % bands from blocks of 8 s in 95 % of cases, as they should be, and
// within bands from blocks of 1 s in only 84 %, because music stays in one chord for bars.
const BlockSec = 8

// Block is the sum over some consecutive rows of a recording.
type Block struct {
	Weight float64   // Σ of the rows' weights, in seconds
	Power  []float64 // Σ weight·power per band, in power·seconds
}

// Blocks returns the sums over consecutive blocks of rows rows each. weights has one weight
// per row of the recording. The first block starts at row from, which may be below 0 or a
// fraction; rows outside the recording count nothing. A row across the border of two blocks
// is divided between them, its power according to the octave powers over time.
func (r *Recording) Blocks(weights []float64, from float64, rows int) []Block {
	count := int(math.Ceil((float64(r.Rows) - from) / float64(rows)))
	blocks := make([]Block, max(0, count))
	for k := range blocks {
		blocks[k].Power = make([]float64, spectrum.BandCount)
	}
	for row := range r.Rows {
		w := weights[row] * float64(r.RowSec)
		at := float64(row) - from
		k := int(math.Floor(at / float64(rows)))
		if w == 0 || at+1 <= 0 {
			continue
		}
		inFirst := min(1, float64((k+1)*rows)-at) // of the row's time
		first := r.shareBefore(row, inFirst)
		for b, p := range r.Row(row) {
			p, share := float64(p), first[b/spectrum.BandsPerOctave]
			if k >= 0 {
				blocks[k].Power[b] += w * share * p
			}
			if inFirst < 1 && k+1 < len(blocks) {
				blocks[k+1].Power[b] += w * (1 - share) * p
			}
		}
		if k >= 0 {
			blocks[k].Weight += w * inFirst
		}
		if inFirst < 1 && k+1 < len(blocks) {
			blocks[k+1].Weight += w * (1 - inFirst)
		}
	}
	return blocks
}

// shareBefore returns the share of each octave's power in a row that is in the first part
// (0 to 1) of its time.
func (r *Recording) shareBefore(row int, part float64) (share [Octaves]float64) {
	for o := range share {
		share[o] = part
	}
	if part >= 1 || r.OctavePower == nil {
		return share
	}
	var before, all [Octaves]float64
	border := float64(row) + part // rows of a measured recording are seconds
	first := max(0, (row-1)*spectrum.WindowsPerSecond)
	for w := first; w < min((row+2)*spectrum.WindowsPerSecond, len(r.OctavePower)/Octaves); w++ {
		middle := spectrum.MiddleSec(w)
		if int(middle) != row {
			continue
		}
		// Each window represents the time up to half-way to its neighbours' middles.
		in := min(max((border-middle)*spectrum.WindowsPerSecond+0.5, 0), 1)
		for o := range before {
			p := float64(r.OctavePower[w*Octaves+o])
			before[o] += in * p
			all[o] += p
		}
	}
	for o := range share {
		if all[o] > 0 {
			share[o] = before[o] / all[o]
		}
	}
	return share
}
