package mp3

import "encoding/binary"

// Side information. Source: ISO/IEC 11172-3, sections 2.4.1.7 and 2.4.2.7, and ISO/IEC 13818-3, section 2.4.1.7, from
// memory.

// side is a frame's side information.
type side struct {
	begin  int        // how many bytes before the frame's own main data its main data starts
	shared [2][4]bool // by channel and group of bands: whether the second granule uses the scale factors of the first
	part   [2][2]part // by granule, then channel
}

// part is one granule of one channel.
type part struct {
	bits        int // length in the main data, scale factors included
	pairs       int // number of pairs of spectral lines in the three regions
	gain        int // global gain: the exponent of 2^(1/4), plus 210
	compress    int // scalefac_compress: the lengths of scale factors
	blockType   int
	mixed       bool   // whether the lowest bands of a short block are long ones
	lowNormal   bool   // whether the lowest two subbands have normal blocks, regardless of blockType
	table       [3]int // codes of the three regions
	regionEnd   [3]int // in pairs
	subGain     [3]int // of short windows: a step is a factor of 1/4
	preflag     bool
	coarse      bool // whether a scale factor counts powers of two, not of √2
	codeB       bool // whether lines of 0 and ±1 are in code B
	shortBlocks bool
}

const (
	normalBlocks = iota
	startBlock
	shortBlocks
	stopBlock
)

// parse reads side information from b and reports whether it is possible. bands gives the ends of regions.
func (s *side) parse(h Header, b []byte, bands *layout) bool {
	r := bitReader{data: b}
	channels := h.Channels()
	lsf := h.Version != MPEG1
	s.shared = [2][4]bool{}
	switch {
	case lsf:
		s.begin = r.take(8)
		r.pos += channels // private bits
	default:
		s.begin = r.take(9)
		r.pos += 7 - 2*channels
		for ch := range channels {
			for group := range s.shared[ch] {
				s.shared[ch][group] = r.take(1) == 1
			}
		}
	}
	for g := range h.granules() {
		for ch := range channels {
			if !s.part[g][ch].parse(&r, h, bands) {
				return false
			}
		}
	}
	return true
}

func (p *part) parse(r *bitReader, h Header, bands *layout) bool {
	*p = part{bits: r.take(12), pairs: r.take(9), gain: r.take(8)}
	if h.Version == MPEG1 {
		p.compress = r.take(4)
	} else {
		p.compress = r.take(9)
	}
	p.regionEnd = [3]int{lines / 2, lines / 2, lines / 2}
	if r.take(1) == 1 { // window switching
		p.blockType = r.take(2)
		p.lowNormal = r.take(1) == 1
		p.table[0], p.table[1] = r.take(5), r.take(5)
		for w := range p.subGain {
			p.subGain[w] = r.take(3)
		}
		// Without region addresses the first region ends after eight long bands or, in short blocks, three short ones.
		p.regionEnd[0] = bands.ends[7]
		if p.blockType == shortBlocks {
			p.regionEnd[0] = bands.shortThree
		}
		p.shortBlocks = p.blockType == shortBlocks
		p.mixed = p.lowNormal && p.shortBlocks
	} else {
		for i := range p.table {
			p.table[i] = r.take(5)
		}
		first := r.take(4)
		second := first + 1 + r.take(3)
		p.regionEnd[0] = bands.ends[min(first, len(bands.ends)-1)]
		p.regionEnd[1] = bands.ends[min(second, len(bands.ends)-1)]
		p.blockType = normalBlocks
	}
	if h.Version == MPEG1 {
		p.preflag = r.take(1) == 1
	}
	p.coarse = r.take(1) == 1
	p.codeB = r.take(1) == 1
	return p.pairs <= lines/2
}

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
