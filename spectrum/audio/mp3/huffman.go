package mp3

import (
	"encoding/binary"
	"math"
)

// codeTree is a Huffman code as a lookup table. The next eight bits index first. For a longer word the entry there refers
// to a part of rest, which the following bits index.
//
// The entry of a word: bits 0-4 its length, 5-9 its length with signs, 10 and 11 whether x and y have a sign, 12-15 x,
// 16-19 y. A reference: bit 31 set, 0-4 how many bits index the part, 5-20 where the part begins.
type codeTree struct {
	first [256]uint32
	rest  []uint32
	extra uint // number of bits that follow a value of 15 and are added to it
}

const (
	firstBits = 8
	moreBits  = 1 << 31
)

// codeOf gives the code of each of the 32 tables: its tree, and the number of extra bits after a value of 15. Source:
// ISO/IEC 11172-3, table B.7. Tables 0, 4 and 14 have no code: their lines are zeros.
var codeOf = [32]struct {
	tree  int
	extra uint
}{
	1: {1, 0}, {2, 0}, {3, 0}, 5: {5, 0}, {6, 0}, {7, 0}, {8, 0}, {9, 0}, {10, 0}, {11, 0}, {12, 0}, {13, 0}, 15: {15, 0},
	{16, 1}, {16, 2}, {16, 3}, {16, 4}, {16, 6}, {16, 8}, {16, 10}, {16, 13},
	{24, 4}, {24, 5}, {24, 6}, {24, 7}, {24, 8}, {24, 9}, {24, 11}, {24, 13},
}

var trees = func() (all [32]*codeTree) {
	for i, c := range codeOf {
		if c.tree > 0 {
			all[i] = newTree(codes[c.tree], c.extra)
		}
	}
	return all
}()

// newTree builds the lookup table of a code, whose leaves are in the order described at codes.
func newTree(leaves []uint16, extra uint) *codeTree {
	t := &codeTree{extra: extra}
	fill := func(table []uint32, width int, word, used uint32, leaf uint16) {
		length := uint32(leaf >> 8)
		x, y := uint32(leaf>>4&15), uint32(leaf&15)
		signs := min(x, 1) + min(y, 1)
		entry := length | (length+signs)<<5 | min(x, 1)<<10 | min(y, 1)<<11 | x<<12 | y<<16
		spare := width - int(length-used)
		from := word >> (32 - used - (length - used)) << spare & (1<<width - 1)
		for i := range uint32(1) << spare {
			table[from+i] = entry
		}
	}
	word := uint32(0) // left-aligned
	for i := 0; i < len(leaves); {
		length := int(leaves[i] >> 8)
		if length <= firstBits {
			fill(t.first[:], firstBits, word, 0, leaves[i])
			word += 1 << (32 - length)
			i++
			continue
		}
		// All leaves with these first bits.
		head, n, deepest, next := word>>(32-firstBits), 0, 0, uint64(word)
		for i+n < len(leaves) && uint32(next>>(32-firstBits)) == head {
			l := int(leaves[i+n] >> 8)
			deepest = max(deepest, l)
			next += 1 << (32 - l)
			n++
		}
		width, at := deepest-firstBits, len(t.rest)
		t.rest = append(t.rest, make([]uint32, 1<<width)...)
		t.first[head] = moreBits | uint32(width) | uint32(at)<<5
		for range n {
			fill(t.rest[at:], width, word, firstBits, leaves[i])
			word += 1 << (32 - leaves[i]>>8)
			i++
		}
	}
	return t
}

// fours is code A, indexed with six bits: bits 0-2 of an entry are the length, 3-6 the four values.
var fours = func() (table [64]uint8) {
	at := 0
	for _, leaf := range fourCode {
		for range 1 << (6 - leaf>>8) {
			table[at] = uint8(leaf>>8 | leaf&15<<3)
			at++
		}
	}
	return table
}()

// power43 is x^(4/3).
var power43 = func() (table [8192 + 16]float32) {
	for x := range table {
		table[x] = float32(math.Pow(float64(x), 4.0/3))
	}
	return table
}()

// bitWindow holds the next bits of data, at most 64, at the top of a word.
type bitWindow struct {
	data []byte
	next int    // the byte after those in the word
	word uint64 // have bits at the top; below them, the next bits of data or zeros
	have int
}

func (b *bitWindow) seek(pos int) {
	b.next = pos >> 3
	b.word = binary.BigEndian.Uint64(b.data[b.next:]) << (pos & 7)
	b.next += 7
	b.have = 56 - pos&7
}

func (b *bitWindow) pos() int { return 8*b.next - b.have }

// pairs decodes n pairs of lines to x, from line at on, step lines apart.
func (b *bitWindow) pairs(t *codeTree, x *[lines]float32, at, step, n int, scale float32) {
	data, next, word, have := b.data, b.next, b.word, b.have
	for ; n > 0; n-- {
		word |= binary.BigEndian.Uint64(data[next:]) >> (have & 63)
		next += (63 - have) >> 3
		have |= 56
		e := t.first[word>>(64-firstBits)]
		if e&moreBits != 0 {
			e = t.rest[e>>5&0xFFFF+uint32(word<<firstBits>>(64-e&31))]
		}
		word <<= e & 31
		have -= int(e >> 5 & 31)
		v, w := e>>12&15, e>>16&15
		p, q := power43[v], power43[w]
		if t.extra > 0 && (v == 15 || w == 15) {
			// The sign follows the added bits of its value.
			if v == 15 {
				p = power43[15+word>>(64-t.extra)]
				word <<= t.extra
				have -= int(t.extra)
			}
			s := uint32(word>>32) & signBit
			word <<= e >> 10 & 1
			x[at] = math.Float32frombits(math.Float32bits(p*scale) | s)
			if w == 15 {
				q = power43[15+word>>(64-t.extra)]
				word <<= t.extra
				have -= int(t.extra)
			}
		} else {
			s := uint32(word>>32) & signBit
			word <<= e >> 10 & 1
			x[at] = math.Float32frombits(math.Float32bits(p*scale) | s)
		}
		s := uint32(word>>32) & signBit
		word <<= e >> 11 & 1
		x[at+step] = math.Float32frombits(math.Float32bits(q*scale) | s)
		at += 2 * step
	}
	b.next, b.word, b.have = next, word, have
}

const signBit = 1 << 31

// four decodes four lines of 0 and ±1. In the result, bits 0-3 say which lines are not 0 (bit 3 the first line) and bits
// 4-7 which are negative.
func (b *bitWindow) four(codeB bool) uint8 {
	b.word |= binary.BigEndian.Uint64(b.data[b.next:]) >> (b.have & 63)
	b.next += (63 - b.have) >> 3
	b.have |= 56
	var v uint8
	if codeB {
		v = ^uint8(b.word>>60) & 15
		b.word <<= 4
		b.have -= 4
	} else {
		e := fours[b.word>>58]
		v = e >> 3
		b.word <<= e & 7
		b.have -= int(e & 7)
	}
	signs := uint8(0)
	for bit := uint8(8); bit > 0; bit >>= 1 {
		if v&bit != 0 {
			if b.word>>63 == 1 {
				signs |= bit
			}
			b.word <<= 1
			b.have--
		}
	}
	return v | signs<<4
}
