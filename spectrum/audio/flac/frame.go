package flac

import (
	"encoding/binary"
	"errors"
	"math/bits"
)

// Frames are decoded here, from a buffer. The library (mewkiz/flac 1.0.14) takes bit after bit through a reader, which
// takes three times as long. It parses STREAMINFO, writes, and is the oracle of the tests together with ffmpeg.
// Source: RFC 9639, section 9.2 (subframes, predictors, residuals); section numbers below are those of RFC 9639.

// errFrame is the error for bytes that are a damaged frame or no frame at all.
var errFrame = errors.New("flac: damaged frame")

// block holds the decoded samples of a frame, by channel. Its memory is reused.
type block [][]int32

// resize makes b hold that many channels and frames.
func (b *block) resize(channels, frames int) {
	if len(*b) != channels {
		*b = make(block, channels)
	}
	for c, x := range *b {
		if cap(x) < frames {
			x = make([]int32, frames)
		}
		(*b)[c] = x[:frames]
	}
}

// decodeFrame decodes the frame with header h at the start of raw, which has samples of wordBits, into b. It returns the
// length of the frame in bytes, or with an error the number of bytes it read.
func decodeFrame(raw []byte, h header, wordBits int, b *block) (length int, err error) {
	b.resize(h.channels, h.blockSize)
	r := bitReader{b: raw, pos: h.len}
	for c := range *b {
		width := wordBits
		if c == 1 && (h.stereo == leftSide || h.stereo == midSide) || c == 0 && h.stereo == sideRight {
			width++
		}
		if !r.subframe((*b)[c], width) {
			return min(r.at(), len(raw)), errFrame
		}
	}
	const checksumLen = 2
	length = r.at() + checksumLen
	if length > len(raw) || crc16(0, raw[:length]) != 0 {
		return min(length, len(raw)), errFrame
	}
	b.undoStereo(h.stereo)
	return length, nil
}

// undoStereo turns the channels of a difference form into left and right (section 4.2).
func (b block) undoStereo(form byte) {
	switch form {
	case leftSide:
		for i, left := range b[0] {
			b[1][i] = left - b[1][i]
		}
	case sideRight:
		for i, right := range b[1] {
			b[0][i] += right
		}
	case midSide:
		for i, side := range b[1] {
			mid := b[0][i]<<1 | side&1
			b[0][i], b[1][i] = (mid+side)>>1, (mid-side)>>1
		}
	}
}

// subframe decodes one channel (section 9.2), and reports whether it is valid.
func (r *bitReader) subframe(x []int32, width int) bool {
	head := r.take(8)
	kind := head >> 1 & 0x3F
	wasted := 0
	if head&1 == 1 {
		zeros, ok := r.zeros()
		if wasted = zeros + 1; !ok || wasted >= width {
			return false
		}
		width -= wasted
	}
	ok := head>>7 == 0
	switch {
	case !ok:
	case kind == 0: // constant
		v := r.signed(width)
		for i := range x {
			x[i] = v
		}
	case kind == 1: // verbatim
		for i := range x {
			x[i] = r.signed(width)
		}
	case kind >= 8 && kind <= 8+maxFixedOrder:
		order := int(kind - 8)
		if ok = r.warmUp(x, order, width) && r.residual(x, order); ok {
			addFixed(x, order)
		}
	case kind >= 32:
		ok = r.linear(x, int(kind-31), width)
	default:
		return false
	}
	if wasted > 0 {
		for i := range x {
			x[i] <<= wasted
		}
	}
	return ok && r.at() <= len(r.b)
}

// warmUp reads the samples that the predictor starts from.
func (r *bitReader) warmUp(x []int32, order, width int) bool {
	if order > len(x) {
		return false
	}
	for i := range x[:order] {
		x[i] = r.signed(width)
	}
	return true
}

// linear decodes a subframe with a linear predictor (section 9.2.6).
func (r *bitReader) linear(x []int32, order, width int) bool {
	if !r.warmUp(x, order, width) {
		return false
	}
	const invalid = 16 // bits: all ones
	precision, shift := int(r.take(4))+1, r.signed(5)
	if precision == invalid || shift < 0 {
		return false
	}
	var coeffs [32]int64 // the oldest sample's first
	for j := range order {
		coeffs[order-1-j] = int64(r.signed(precision))
	}
	if !r.residual(x, order) {
		return false
	}
	addLinear(x, coeffs[:order], uint(shift))
	return true
}

// residual decodes the residual into x, from index order on (section 9.2.7).
func (r *bitReader) residual(x []int32, order int) bool {
	method, partOrder := r.take(2), int(r.take(4))
	size := len(x) >> partOrder
	if method > 1 || size<<partOrder != len(x) || size < order {
		return false
	}
	paramBits := 4 + int(method)
	escape := uint64(1)<<paramBits - 1
	for p := range 1 << partOrder {
		part := x[max(order, p*size) : (p+1)*size]
		k := r.take(paramBits)
		if k == escape {
			width := int(r.take(5))
			for i := range part {
				part[i] = r.signed(width)
			}
		} else if !r.rice(part, uint(k)) {
			return false
		}
	}
	return true
}

// bitReader reads the bits of b, the most significant bit of each byte first. Beyond the end of b they are 0.
type bitReader struct {
	b    []byte
	pos  int    // the next byte to load
	word uint64 // bits not yet taken, at the top
	have uint   // how many of them belong to bytes before pos; below them are the next bits, or zeros
}

// at returns the number of bytes of which at least one bit has been taken.
func (r *bitReader) at() int { return r.pos - int(r.have/8) }

// fill loads at least 56 bits.
func (r *bitReader) fill() {
	if r.pos+8 <= len(r.b) {
		r.word |= binary.BigEndian.Uint64(r.b[r.pos:]) >> r.have
	} else {
		var last [8]byte
		copy(last[:], r.b[min(r.pos, len(r.b)):])
		r.word |= binary.BigEndian.Uint64(last[:]) >> r.have
	}
	r.pos += int(63-r.have) / 8
	r.have |= 56
}

// take returns the next n ≤ 32 bits.
func (r *bitReader) take(n int) uint64 {
	r.fill()
	v := r.word >> (64 - n)
	r.word <<= n
	r.have -= uint(n)
	return v
}

// signed returns the next n ≤ 32 bits as a number with a sign.
func (r *bitReader) signed(n int) int32 {
	r.fill()
	v := int64(r.word) >> (64 - n)
	if n == 0 {
		v = 0
	}
	r.word <<= n
	r.have -= uint(n)
	return int32(v)
}

// zeros takes bits up to and including the next 1, and returns how many 0 came before it. ok is false if b ends first.
func (r *bitReader) zeros() (n int, ok bool) {
	for {
		r.fill()
		if z := bits.LeadingZeros64(r.word); z < int(r.have) {
			r.word <<= z + 1
			r.have -= uint(z + 1)
			return n + z, true
		}
		n += int(r.have)
		r.word, r.have = 0, 0
		if r.pos >= len(r.b) {
			return n, false
		}
	}
}

// rice decodes a partition of Rice codes with parameter k. The code of a value v is v>>k zeros, a 1, and the lowest k
// bits of v. The lowest bit of v is the sign of the sample (section 9.2.7.1).
func (r *bitReader) rice(x []int32, k uint) bool {
	for i := range x {
		r.fill()
		z := uint(bits.LeadingZeros64(r.word))
		var v uint64
		if z+1+k <= r.have {
			rest := r.word << (z + 1)
			v = uint64(z)<<k | rest>>1>>((63-k)&63)
			r.word = rest << k
			r.have -= z + 1 + k
		} else {
			high, ok := r.zeros()
			if !ok {
				return false
			}
			v = uint64(high)<<k | r.take(int(k))
		}
		x[i] = int32(v>>1) ^ -int32(v&1)
	}
	return true
}

// addFixed adds a fixed predictor's prediction (section 9.2.5).
func addFixed(x []int32, order int) {
	switch order {
	case 1:
		for i := 1; i < len(x); i++ {
			x[i] += x[i-1]
		}
	case 2:
		for i := 2; i < len(x); i++ {
			x[i] += 2*x[i-1] - x[i-2]
		}
	case 3:
		for i := 3; i < len(x); i++ {
			x[i] += 3*(x[i-1]-x[i-2]) + x[i-3]
		}
	case 4:
		for i := 4; i < len(x); i++ {
			x[i] += 4*(x[i-1]+x[i-3]) - 6*x[i-2] - x[i-4]
		}
	}
}

// addLinear adds a linear predictor's prediction.
func addLinear(x []int32, coeffs []int64, shift uint) {
	for i := len(coeffs); i < len(x); i++ {
		past := x[i-len(coeffs) : i]
		sum := int64(0)
		for j, c := range coeffs {
			sum += c * int64(past[j])
		}
		x[i] += int32(sum >> shift)
	}
}
