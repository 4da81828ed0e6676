package mp3

import "encoding/binary"

// slack is the number of bytes past the end of the data that may be read before that is noticed: the longest band has 96
// pairs of at most 47 bits, and eight bytes are read at once.
const slack = 640

// bitReader reads bits, the most significant bit of each byte first. Eight bytes must follow the bits that are taken.
type bitReader struct {
	data []byte
	pos  int
}

func (r *bitReader) take(n int) int {
	w := binary.BigEndian.Uint64(r.data[r.pos>>3:]) << (r.pos & 7)
	r.pos += n
	return int(w >> (64 - n))
}
