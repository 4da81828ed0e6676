package audio

// Layer III side information. Source: ISO/IEC 11172-3, sections 2.4.1.7 and 2.4.2.7, and ISO/IEC 13818-3, section
// 2.4.1.7, from memory.

// mp3Side is what is needed of a frame's side information.
type mp3Side struct {
	begin    int // bytes that the main data starts before the frame
	channels int
	part     []mp3Part // by granule, then channel
}

// mp3Part is one granule of one channel.
type mp3Part struct {
	at      int // bit offset of the length field in the side information
	bits    int // length in the main data, scale factors included
	pairs   int // spectral lines coded in pairs, divided by two
	short   bool
	tableB  bool // the lines above come four at a time with four bits for four zeros instead of one
	endsAt  int  // bit offset of the part's end in the main data
	extraIn int  // bits added at the end
}

const (
	lengthBits = 12
	pairsBits  = 9
	maxPairs   = 288
	maxLength  = 1<<lengthBits - 1
)

// parseSide reads side information; ok is false if it is impossible.
func parseSide(h mpegHeader, b []byte) (s mp3Side, ok bool) {
	r := bitReader{b: b}
	s.channels = h.channels()
	granules, partBits, compressBits := 2, 59, 4
	switch {
	case h.version != mpeg1:
		granules, partBits, compressBits = 1, 63, 9
		s.begin = r.take(8)
		r.pos += s.channels // private bits
	case s.channels == 1:
		s.begin = r.take(9)
		r.pos += 5 + 4 // private bits, scale factor sharing
	default:
		s.begin = r.take(9)
		r.pos += 3 + 8
	}
	end := 0
	for range granules * s.channels {
		p := mp3Part{at: r.pos}
		p.bits = r.take(lengthBits)
		p.pairs = r.take(pairsBits)
		const gainBits, shortBlocks = 8, 2
		r.pos += gainBits + compressBits
		p.short = r.take(1) == 1 && r.take(2) == shortBlocks
		r.pos = p.at + partBits - 1
		p.tableB = r.take(1) == 1
		if p.pairs > maxPairs {
			return s, false
		}
		end += p.bits
		p.endsAt = end
		s.part = append(s.part, p)
	}
	return s, true
}

// need returns the bytes of main data.
func (s *mp3Side) need() int { return (s.part[len(s.part)-1].endsAt + 7) / 8 }

// extend plans zeros at the end of one channel's part in every granule with short blocks, up to spareBits in all, and
// reports whether there are any.
//
// The library undoes mid-side stereo up to the last coded line only, but after it has put the lines of short blocks in
// order, where some have moved above that: up to 470 steps of 16 bits wrong on real songs. Zeros coded up to the
// top of the spectrum of one channel make it go all the way (then 1.0 steps, rounding). At an encoder's highest
// constant rate there is not always room: one dense song of six at 320 kbit/s kept 28 steps in 0.02 % of its samples.
//
// With intensity stereo, which starts above the second channel's coded lines, only the first may grow.
func (s *mp3Side) extend(spareBits int, intensity bool) bool {
	any := false
	for g := 0; g+1 < len(s.part); g += 2 {
		p := &s.part[g]
		if o := &s.part[g+1]; !intensity && (p.bits == 0 || p.tableB && !o.tableB && o.bits > 0) {
			p = o
		}
		if !(s.part[g].short || s.part[g+1].short) || p.bits == 0 {
			continue
		}
		fours, each := (2*maxPairs-2*p.pairs+3)/4, 1
		if p.tableB {
			each = 4
		}
		fours = min(fours, (maxLength-p.bits)/each, spareBits/each)
		p.extraIn = fours * each
		spareBits -= p.extraIn
		any = any || p.extraIn > 0
	}
	return any
}

// extended returns main data with the planned zeros in it and enters the new lengths into the side information. In
// both tables four zeros are all ones: 1 and 1111.
func (s *mp3Side) extended(main, side []byte) []byte {
	r := bitReader{b: main}
	var w bitWriter
	for _, p := range s.part {
		for r.pos < p.endsAt {
			n := min(p.endsAt-r.pos, 16)
			w.put(r.take(n), n)
		}
		for range p.extraIn {
			w.put(1, 1)
		}
		field := bitWriter{b: side, pos: p.at}
		field.put(p.bits+p.extraIn, lengthBits)
	}
	return w.b
}

// setBegin writes how far back main data begins into side information.
func setBegin(side []byte, begin int, v mpegVersion) {
	bits := 9
	if v != mpeg1 {
		bits = 8
	}
	w := bitWriter{b: side}
	w.put(begin, bits)
}

// bitReader takes bits from the top down.
type bitReader struct {
	b   []byte
	pos int
}

func (r *bitReader) take(n int) int {
	v := 0
	for range n {
		v = v<<1 | int(r.b[r.pos>>3]>>(7-r.pos&7)&1)
		r.pos++
	}
	return v
}

// bitWriter sets bits from the top down and grows at its end.
type bitWriter struct {
	b   []byte
	pos int
}

func (w *bitWriter) put(v, n int) {
	for n--; n >= 0; n-- {
		if w.pos>>3 == len(w.b) {
			w.b = append(w.b, 0)
		}
		bit := byte(0x80) >> (w.pos & 7)
		w.b[w.pos>>3] &^= bit
		if v>>n&1 == 1 {
			w.b[w.pos>>3] |= bit
		}
		w.pos++
	}
}
