package audio

import "slices"

// flacSound is the sound of one FLAC frame. It is decoded here since the library, which takes each byte through four
// readers, is several times slower; in the tests it is the reference.
// Source: RFC 9639, sections 9.2 (subframes), 9.2.7 (coded residual) and 4.2 (stereo forms).
type flacSound struct {
	frames   int
	channels [][]int64 // memory is used again from frame to frame
}

// decode reads the frame with header h that b begins with, of bits a sample, and returns its length in bytes, its
// checksum included. It reports whether all of that is right.
func (f *flacSound) decode(b []byte, h flacHeader, wordBits uint) (length int, ok bool) {
	r := &flacReader{b: b[h.len:]}
	f.frames = h.blockSize
	f.channels = slices.Grow(f.channels[:0], h.channels)[:h.channels]
	for c := range f.channels {
		f.channels[c] = slices.Grow(f.channels[c][:0], h.blockSize)[:h.blockSize]
		width := wordBits
		if h.stereo.difference() == c {
			width++
		}
		if !subframe(r, f.channels[c], width) {
			return 0, false
		}
	}
	r.toByte()
	r.take(16)
	length = h.len + r.taken()
	if r.short || crc16(b[:length]) != 0 {
		return 0, false
	}
	h.stereo.toLeftRight(f.channels)
	return length, true
}

// stereoForm is how two channels are told.
type stereoForm byte

const (
	asTheyAre stereoForm = iota
	leftDifference
	differenceRight
	middleDifference
)

// difference is the channel that holds left − right, which needs a bit more; -1: none.
func (s stereoForm) difference() int {
	switch s {
	case leftDifference, middleDifference:
		return 1
	case differenceRight:
		return 0
	}
	return -1
}

// toLeftRight works in place.
func (s stereoForm) toLeftRight(x [][]int64) {
	if s == asTheyAre {
		return
	}
	a, b := x[0], x[1][:len(x[0])]
	switch s {
	case leftDifference:
		for i, left := range a {
			b[i] = left - b[i]
		}
	case differenceRight:
		for i, right := range b {
			a[i] += right
		}
	case middleDifference:
		for i, middle := range a {
			sum := middle<<1 | b[i]&1 // halving dropped the bit that the difference still has
			a[i], b[i] = (sum+b[i])>>1, (sum-b[i])>>1
		}
	}
}

// subframe fills x with one channel of width bits a sample.
func subframe(r *flacReader, x []int64, width uint) bool {
	if r.take(1) != 0 {
		return false
	}
	kind := int(r.take(6))
	wasted := uint(0)
	if r.take(1) != 0 {
		more := r.unary()
		if more+1 >= uint64(width) {
			return false
		}
		wasted = uint(more) + 1
		width -= wasted
	}
	ok := true
	switch {
	case kind == 0: // constant
		v := r.signed(width)
		for i := range x {
			x[i] = v
		}
	case kind == 1: // verbatim
		for i := range x {
			x[i] = r.signed(width)
		}
	case kind >= 8 && kind <= 12:
		ok = predicted(r, x, width, kind-8, fixedPredictors[kind-8])
	case kind >= 32:
		ok = predicted(r, x, width, kind-31, nil)
	default:
		ok = false
	}
	if wasted > 0 {
		for i := range x {
			x[i] <<= wasted
		}
	}
	return ok && !r.short
}

// fixedPredictors by their order; the coefficient of the sample before stands first.
var fixedPredictors = [...][]int64{{}, {1}, {2, -1}, {3, -3, 1}, {4, -6, 4, -1}}

// predicted reads the first samples, the predictor where none is given, and what it leaves.
func predicted(r *flacReader, x []int64, width uint, order int, coeffs []int64) bool {
	if order > len(x) {
		return false
	}
	for i := range order {
		x[i] = r.signed(width)
	}
	shift := uint(0)
	if coeffs == nil {
		precision := uint(r.take(4)) + 1
		by := r.signed(5)
		if precision == 16 || by < 0 {
			return false
		}
		shift = uint(by)
		coeffs = make([]int64, order)
		for i := range coeffs {
			coeffs[i] = r.signed(precision)
		}
	}
	if !residual(r, x, order) {
		return false
	}
	predict(x, coeffs, shift)
	return true
}

// residual reads what the predictor of an order leaves into x from there on.
func residual(r *flacReader, x []int64, order int) bool {
	method := r.take(2)
	if method > 1 {
		return false
	}
	paramBits := uint(4 + method)
	escape := uint64(1)<<paramBits - 1
	parts := 1 << r.take(4)
	size := len(x) / parts
	if size*parts != len(x) || size < order {
		return false
	}
	for n := range parts {
		part := x[n*size : (n+1)*size]
		if n == 0 {
			part = part[order:]
		}
		if k := r.take(paramBits); k < escape {
			r.rice(part, uint(k))
		} else if width := uint(r.take(5)); width == 0 {
			clear(part)
		} else {
			for i := range part {
				part[i] = r.signed(width)
			}
		}
		if r.short {
			return false
		}
	}
	return true
}

// predict adds to each of x from len(coeffs) on what the samples before it predict, in place.
func predict(x, coeffs []int64, shift uint) {
	order := len(coeffs)
	back := slices.Clone(coeffs) // the oldest sample's first
	slices.Reverse(back)
	for i := order; i < len(x); i++ {
		before := x[i-order : i]
		before = before[:len(back)]
		sum := int64(0)
		for j, c := range back {
			sum += c * before[j]
		}
		x[i] += sum >> shift
	}
}
