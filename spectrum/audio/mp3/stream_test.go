package mp3

import (
	"math"
	"math/rand/v2"
	"slices"
)

// Random streams that the standard allows and encoders in use do not make: all codes, mixed blocks, intensity stereo,
// shared scale factors, subblock gains, checksums. Only the way of the bits is of interest: they sound like noise.

// bitWriter adds bits from the top down.
type bitWriter struct {
	b    []byte
	bits int
}

func (w *bitWriter) put(v, n int) {
	for n--; n >= 0; n-- {
		if w.bits%8 == 0 {
			w.b = append(w.b, 0)
		}
		w.b[w.bits/8] |= byte(v>>n&1) << (7 - w.bits%8)
		w.bits++
	}
}

func (w *bitWriter) add(o bitWriter) {
	for i := range o.bits {
		w.put(int(o.b[i/8]>>(7-i%8)&1), 1)
	}
}

// word is a code word.
type word struct{ bits, length int }

func wordsOf(leaves []uint16) map[int]word {
	words, at := map[int]word{}, uint64(0)
	for _, leaf := range leaves {
		n := int(leaf >> 8)
		words[int(leaf&255)] = word{int(at >> (32 - n)), n}
		at += 1 << (32 - n)
	}
	return words
}

var codeWords = func() map[int]map[int]word {
	all := map[int]map[int]word{}
	for i, leaves := range codes {
		all[i] = wordsOf(leaves)
	}
	return all
}()

// blocks says which types of blocks a stream has: normal, start and stop ones; short ones; mixed ones; the last two.
type blocks int

const (
	long blocks = iota
	short
	mixed
	all
)

// after returns a type of block, and whether it is mixed, that may follow on another: ffmpeg 5.1 takes it for granted that
// short ones stand between a start and a stop block.
func (b blocks) after(rng *rand.Rand, blockType int, mix bool) (int, bool) {
	switch blockType {
	case normalBlocks, stopBlock:
		if rng.IntN(3) == 0 {
			return normalBlocks, false
		}
		return startBlock, b == mixed || b == all && rng.IntN(2) == 0
	case startBlock:
		if b == long {
			return stopBlock, mix
		}
		return shortBlocks, mix
	}
	return shortBlocks + rng.IntN(2), mix
}

// kind is what a random stream is made of.
type kind struct {
	version   Version
	rate      int // 0 to 2
	bitIndex  int
	mode, ext int
	crc       bool
	blocks    blocks
	table     int // for all regions; -1: any
	seed      uint64
}

func (k kind) stream(frames int) []byte {
	rng := rand.New(rand.NewPCG(k.seed, 17))
	var file []byte
	blockType, mix := normalBlocks, false
	var room []int // offsets in the file of bytes that are still free
	for range frames {
		crc := 1
		if k.crc {
			crc = 0
		}
		head := []byte{0xFF, byte(0xE0 | int(k.version)<<3 | 1<<1 | crc), byte(k.bitIndex<<4 | k.rate<<2 | rng.IntN(2)<<1), byte(k.mode<<6 | k.ext<<4)}
		h, ok := ParseHeader(head)
		if !ok {
			panic("no header")
		}
		at := len(file)
		file = append(file, make([]byte, h.FrameLen())...)
		copy(file[at:], head)
		reach := 511
		if h.Version != MPEG1 {
			reach = 255
		}
		if len(room) > reach {
			room = room[len(room)-reach:]
		}
		begin := len(room)
		for i := h.MainAt(); i < h.FrameLen(); i++ {
			room = append(room, at+i)
		}
		var types []int
		var mixes []bool
		for range h.granules() {
			blockType, mix = k.blocks.after(rng, blockType, mix)
			types, mixes = append(types, blockType), append(mixes, mix)
		}
		side, main := k.frame(rng, h, begin, 8*len(room), types, mixes)
		copy(file[at+h.MainAt()-h.SideLen():], side.b)
		for i, b := range main.b {
			file[room[i]] = b
		}
		room = room[len(main.b):]
	}
	return file
}

// frame makes a frame's side information and main data of at most most bits.
func (k kind) frame(rng *rand.Rand, h Header, begin, most int, types []int, mixes []bool) (side, main bitWriter) {
	channels, granules := h.Channels(), h.granules()
	lsf := h.Version != MPEG1
	most /= channels * granules
	type made struct{ side, main bitWriter }
	var parts []made
	short := slices.Contains(types, shortBlocks)
	var shared [2][4]bool
	for ch := range channels {
		for i := range shared[ch] {
			shared[ch][i] = !lsf && !short && rng.IntN(3) == 0
		}
	}
	for g := range granules {
		for ch := range channels {
			none := [4]bool{}
			if g == 1 {
				none = shared[ch]
			}
			s, m := k.part(rng, h, types[g], mixes[g], none, ch == 1 && h.Intensity(), min(most, 4095))
			parts = append(parts, made{s, m})
		}
	}
	if lsf {
		side.put(begin, 8)
		side.put(0, channels)
	} else {
		side.put(begin, 9)
		side.put(0, 7-2*channels)
		for ch := range channels {
			for _, s := range shared[ch] {
				b := 0
				if s {
					b = 1
				}
				side.put(b, 1)
			}
		}
	}
	for _, p := range parts {
		side.add(p.side)
		main.add(p.main)
	}
	return side, main
}

// part makes one granule of one channel.
func (k kind) part(rng *rand.Rand, h Header, blockType int, mix bool, shared [4]bool, directed bool, most int) (side, main bitWriter) {
	lsf := h.Version != MPEG1
	p := part{blockType: blockType, shortBlocks: blockType == shortBlocks, lowNormal: mix}
	p.mixed = p.shortBlocks && mix
	// Scale factors.
	if lsf {
		p.compress = rng.IntN(512)
		for _, bits := range lowLengths(p, directed) {
			v := 0
			if bits > 0 {
				v = rng.IntN(1 << bits)
				if directed && v == 1<<bits-1 { // ffmpeg 5.1 does not know that this stands for no direction
					v = 0
				}
			}
			main.put(min(v, 6), bits)
		}
	} else {
		p.compress = rng.IntN(16)
		bits := factorBits[p.compress]
		n, lower := 21, 11
		if p.shortBlocks {
			n, lower = 36, 18
		}
		if p.mixed {
			n, lower = 35, 17
		}
		for i := range n {
			group := 0
			for i >= groupEnds[group] && group < 3 {
				group++
			}
			if !p.shortBlocks && shared[group] {
				continue
			}
			b := bits[0]
			if i >= lower {
				b = bits[1]
			}
			v := rng.IntN(1 << b)
			if !directed {
				v = min(v, 6)
			}
			main.put(v, b)
		}
	}
	factorEnd := main
	l := &layouts[h.rateIndex()]
	first, second := rng.IntN(16), rng.IntN(8)
	ends := [3]int{l.ends[min(first, 21)], l.ends[min(first+second+1, 21)], lines / 2}
	if p.blockType != normalBlocks {
		ends = [3]int{l.ends[7], lines / 2, lines / 2}
		if p.shortBlocks {
			ends[0] = l.shortThree
		}
	}
	tables := []int{0, 1, 2, 3, 5, 6, 7, 8, 9, 10, 11, 12, 13, 15, 16, 17, 18, 19, 20, 21, 22, 23, 24, 25, 26, 27, 28, 29, 30, 31}
	for i := range p.table {
		p.table[i] = tables[rng.IntN(len(tables))]
		if k.table >= 0 {
			p.table[i] = k.table
		}
	}
	p.codeB = rng.IntN(2) == 1
	p.pairs = rng.IntN(lines/2 + 1)
	if directed {
		p.pairs /= 4
	}
	largest := 1
	for fits := false; !fits; {
		main = bitWriter{b: append([]byte(nil), factorEnd.b...), bits: factorEnd.bits}
		largest = 1
		for i := range p.pairs {
			region := 0
			for i >= ends[region] {
				region++
			}
			x, y := putPair(rng, &main, p.table[region])
			largest = max(largest, x, y)
		}
		fits = main.bits <= most
		if !fits {
			p.pairs /= 2
		}
	}
	for i := p.pairs; i+2 <= lines/2 && main.bits+10 <= most && rng.IntN(40) > 0 && !directed; i += 2 {
		v := rng.IntN(16)
		if p.codeB {
			main.put(15-v, 4)
		} else {
			w := fourWords[v]
			main.put(w.bits, w.length)
		}
		for b := 8; b > 0; b >>= 1 {
			if v&b != 0 {
				main.put(rng.IntN(2), 1)
			}
		}
	}
	p.bits = main.bits
	// The largest line comes to about 0.03 of full scale.
	p.gain = max(0, 210-20-int(4*4.0/3*math.Log2(float64(largest)))-rng.IntN(8))
	p.preflag, p.coarse = rng.IntN(4) == 0, rng.IntN(4) == 0
	flag := func(b bool) int {
		if b {
			return 1
		}
		return 0
	}
	side.put(p.bits, 12)
	side.put(p.pairs, 9)
	side.put(p.gain, 8)
	side.put(p.compress, 4+5*flag(lsf))
	if p.blockType == normalBlocks {
		side.put(0, 1)
		for _, t := range p.table {
			side.put(t, 5)
		}
		side.put(first, 4)
		side.put(second, 3)
	} else {
		side.put(1, 1)
		side.put(p.blockType, 2)
		side.put(flag(mix), 1)
		side.put(p.table[0], 5)
		side.put(p.table[1], 5)
		for range 3 {
			side.put(rng.IntN(3), 3)
		}
	}
	if !lsf {
		side.put(flag(p.preflag && !p.shortBlocks), 1)
	}
	side.put(flag(p.coarse), 1)
	side.put(flag(p.codeB), 1)
	return side, main
}

var fourWords = wordsOf(fourCode)

// putPair writes two random values and returns them.
func putPair(rng *rand.Rand, w *bitWriter, table int) (x, y int) {
	c := codeOf[table]
	if c.tree == 0 {
		return 0, 0
	}
	most := 0
	for xy := range codeWords[c.tree] {
		most = max(most, xy&15)
	}
	x, y = rng.IntN(most+1), rng.IntN(most+1)
	if rng.IntN(3) == 0 {
		x = 0
	}
	code := codeWords[c.tree][x<<4|y]
	w.put(code.bits, code.length)
	for _, v := range []*int{&x, &y} {
		if *v == 15 && c.extra > 0 {
			more := rng.IntN(1 << c.extra)
			w.put(more, int(c.extra))
			*v += more
		}
		if *v > 0 {
			w.put(rng.IntN(2), 1)
		}
	}
	return x, y
}

// lowLengths returns the lengths of the scale factors at the low sampling frequencies, asked from the reader itself: the
// first one that a run of bits moves on by.
func lowLengths(p part, directed bool) (lengths []int) {
	var f factors
	r := bitReader{data: make([]byte, 200)}
	for i := range r.data {
		r.data[i] = 0xFF
	}
	f.readLow(&r, &p, directed)
	total := 0
	for i := range f.of {
		if n := lengthOf(f.of[i]); total+n <= r.pos {
			lengths = append(lengths, n)
			total += n
		}
	}
	return lengths
}

func lengthOf(ones uint8) (n int) {
	for ; ones > 0; ones >>= 1 {
		n++
	}
	return n
}
