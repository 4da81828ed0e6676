package mp3

import (
	"math"
	"math/rand/v2"
)

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
				if directed && v == 1<<bits-1 { // ffmpeg 5.1 does not know that this means no direction
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
	l := &layouts[h.rate]
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

// lowLengths returns the lengths in bits of the scale factors in MPEG-2 and MPEG-2.5. It finds them by trying the reader
// itself on runs of bits.
func lowLengths(p part, directed bool) (lengths []int) {
	var f factors
	r := bitReader{data: make([]byte, 200)}
	for i := range r.data {
		r.data[i] = 0xFF
	}
	f.readLow(&r, &p, directed)
	total := 0
	for i := range f.value {
		if n := lengthOf(f.value[i]); total+n <= r.pos {
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
