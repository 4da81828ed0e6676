package audio

import (
	"encoding/binary"
	"math/bits"
)

// flacReader reads bits from a slice, the most significant first. Past its end it gives zeros and sets short.
type flacReader struct {
	b     []byte
	pos   int    // next byte to take into acc
	acc   uint64 // what is taken, from the top; beyond the first n bits stand true ones or zeros
	n     uint
	short bool
}

// atLeast is how many bits there are after fill, but for the end.
const atLeast = 56

func (r *flacReader) fill() {
	if r.pos+8 <= len(r.b) {
		// The bits that find no room whole bytes are taken with are the same when they come again.
		r.acc |= binary.BigEndian.Uint64(r.b[r.pos:]) >> r.n
		whole := (63 - r.n) / 8
		r.pos += int(whole)
		r.n += 8 * whole
		return
	}
	for r.n <= atLeast && r.pos < len(r.b) {
		r.acc |= uint64(r.b[r.pos]) << (atLeast - r.n)
		r.pos++
		r.n += 8
	}
}

// take returns the next bits, at most 56 of them.
func (r *flacReader) take(count uint) uint64 {
	if r.n < count {
		if r.fill(); r.n < count {
			r.short = true
			r.acc, r.n = 0, 0
			return 0
		}
	}
	v := r.acc >> (64 - count)
	r.acc <<= count
	r.n -= count
	return v
}

// signed returns the next bits as a number in two's complement.
func (r *flacReader) signed(count uint) int64 {
	return int64(r.take(count)<<(64-count)) >> (64 - count)
}

// unary counts zeros up to the next one, which it takes too.
func (r *flacReader) unary() uint64 {
	count := uint64(0)
	for {
		if r.n < atLeast {
			r.fill()
		}
		if zeros := uint(bits.LeadingZeros64(r.acc)); zeros < r.n {
			r.acc <<= zeros + 1
			r.n -= zeros + 1
			return count + uint64(zeros)
		}
		if r.n == 0 {
			r.short = true
			return 0
		}
		count += uint64(r.n)
		r.acc <<= r.n
		r.n = 0
	}
}

// rice fills x with numbers of a Rice code with k low bits: the number of times 2^k in unary, then the rest; even
// numbers stand for 0, 1, 2…, odd ones for −1, −2….
func (r *flacReader) rice(x []int64, k uint) {
	for i := range x {
		if r.n < atLeast {
			r.fill()
		}
		var v uint64
		if zeros := uint(bits.LeadingZeros64(r.acc)); zeros+1+k <= r.n {
			acc := r.acc << (zeros + 1)
			v = uint64(zeros)<<k | acc>>(64-k)
			r.acc = acc << k
			r.n -= zeros + 1 + k
		} else {
			v = r.unary() << k
			v |= r.take(k)
			if r.short {
				return
			}
		}
		x[i] = int64(v>>1) ^ -int64(v&1)
	}
}

// toByte drops the rest of a byte that is begun.
func (r *flacReader) toByte() {
	r.acc <<= r.n % 8
	r.n -= r.n % 8
}

// taken is how many bytes were taken, a begun one included.
func (r *flacReader) taken() int { return r.pos - int(r.n/8) }
