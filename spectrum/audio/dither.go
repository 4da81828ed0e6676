package audio

import "math/rand/v2"

// dither is noise of triangular density, the sum of two even ones of a step's width each: within ±1 step, of
// variance 1/6. Added before rounding it makes the error's mean and power the same whatever the sound, so that what is
// soft fades into noise and not into distortion. Source: S. Lipshitz, R. Wannamaker, J. Vanderkooy, Quantization and
// Dither: A Theoretical Survey, JAES 40 (1992), from memory.
type dither struct{ source rand.PCG }

func newDither(seed uint64) *dither { return &dither{*rand.NewPCG(seed, 0)} }

// next returns one value in steps, 0 without dither. Both halves of one number are a sum of two.
func (d *dither) next() float64 {
	if d == nil {
		return 0
	}
	v := d.source.Uint64()
	const perStep = 1.0 / (1 << 32)
	return float64(v>>32)*perStep + float64(uint32(v))*perStep - 1
}

// Dither has samples that are written as integers dithered from here on, each on its own. The noise depends on the seed
// alone, so the same sound gives the same bytes, however it is cut into blocks. Float samples are left as they are.
func (w *Writer) Dither(seed uint64) {
	w.dither = newDither(seed)
}
