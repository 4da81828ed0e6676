package measure

import "toneplumb/spectrum"

// BlockSec is the length of the stretches that are drawn anew to see how far a mean
// spectrum is settled. Measured: two halves of a song made of alternate pieces lie
// within bands from blocks of 8 s as often as they should (95 % of 95 %), within
// bands from 1 s too rarely (84 %), for music stays for bars in one chord.
const BlockSec = 8

// Block is the sum over a stretch of a recording.
type Block struct {
	Weight float64   // Σ of the rows' weights, in seconds
	Power  []float64 // Σ weight·power per band, in power·seconds
}

// Blocks returns the sums over so many rows each from row `from` on, which may be
// below 0; rows that are not there count nothing.
func (r *Recording) Blocks(weights []float64, from, rows int) []Block {
	var blocks []Block
	for start := from; start < r.Rows; start += rows {
		b := Block{Power: make([]float64, spectrum.BandCount)}
		for row := max(0, start); row < min(r.Rows, start+rows); row++ {
			w := weights[row] * float64(r.RowSec)
			if w == 0 {
				continue
			}
			b.Weight += w
			for band, p := range r.Row(row) {
				b.Power[band] += w * float64(p)
			}
		}
		blocks = append(blocks, b)
	}
	return blocks
}
