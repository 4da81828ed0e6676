package mp3

// Scale factors. Source: ISO/IEC 11172-3, sections 2.4.1.7 and 2.4.2.7, and ISO/IEC 13818-3, section 2.4.3.2, from memory.

// maxBands is the number of bands in short blocks, the largest of any block type.
const maxBands = 39

// factors are the scale factors of one granule of one channel, by band in the order of the main data. With intensity
// stereo, the factors of the second channel's silent bands are directions. The largest value that a band's factor can
// have then means that there is no direction.
type factors struct {
	value [maxBands]uint8
	most  [maxBands]uint8 // the largest value that each can have
}

// factorBits are the lengths of scale factors in bits, by scalefac_compress, of the lower and of the upper bands.
var factorBits = [16][2]int{
	{0, 0}, {0, 1}, {0, 2}, {0, 3}, {3, 0}, {1, 1}, {1, 2}, {1, 3}, {2, 1}, {2, 2}, {2, 3}, {3, 1}, {3, 2}, {3, 3}, {4, 2}, {4, 3},
}

// preemphasis is added to the scale factors of long blocks if the preflag is set. Source: table B.6.
var preemphasis = [22]uint8{11: 1, 1, 1, 1, 2, 2, 3, 3, 3, 2}

// groupEnds are the ends of the groups of long bands whose scale factors both granules can share.
var groupEnds = [4]int{6, 11, 16, 21}

// noDirection is the value that means no direction in MPEG-1.
const noDirection = 7

// read reads the scale factors of MPEG-1. In shared groups it leaves those of the granule before.
func (f *factors) read(r *bitReader, p *part, shared *[4]bool) {
	for band := range f.most {
		f.most[band] = noDirection
	}
	bits := factorBits[p.compress]
	if !p.shortBlocks {
		band := 0
		for group, end := range groupEnds {
			for ; band < end; band++ {
				if !shared[group] {
					f.value[band] = uint8(r.take(bits[group/2]))
				}
			}
		}
		clear(f.value[band:])
		return
	}
	lower, upper := 18, 36
	if p.mixed {
		lower, upper = 17, 35
	}
	for band := range upper {
		if band < lower {
			f.value[band] = uint8(r.take(bits[0]))
		} else {
			f.value[band] = uint8(r.take(bits[1]))
		}
	}
	clear(f.value[upper:])
}

// groupBands are the numbers of bands in each of four groups in MPEG-2 and MPEG-2.5: by row (see readLow), then for long,
// short and mixed blocks. The last three rows are for the second channel with intensity stereo.
var groupBands = [6][3][4]int{
	{{6, 5, 5, 5}, {9, 9, 9, 9}, {6, 9, 9, 9}},
	{{6, 5, 7, 3}, {9, 9, 12, 6}, {6, 9, 12, 6}},
	{{11, 10, 0, 0}, {18, 18, 0, 0}, {15, 18, 0, 0}},
	{{7, 7, 7, 0}, {12, 12, 12, 0}, {6, 15, 12, 0}},
	{{6, 6, 6, 3}, {12, 9, 9, 6}, {6, 12, 9, 6}},
	{{8, 8, 5, 0}, {15, 12, 9, 0}, {6, 18, 9, 0}},
}

// readLow reads the scale factors of MPEG-2 and MPEG-2.5. directions says that they are those of the second channel with
// intensity stereo.
func (f *factors) readLow(r *bitReader, p *part, directions bool) {
	var bits [4]int
	row, c := 0, p.compress
	switch {
	case directions && c/2 < 180:
		c /= 2
		row, bits = 3, [4]int{c / 36, c % 36 / 6, c % 6}
	case directions && c/2 < 244:
		c = c/2 - 180
		row, bits = 4, [4]int{c / 16, c / 4 % 4, c % 4}
	case directions:
		c = c/2 - 244
		row, bits = 5, [4]int{c / 3, c % 3}
	case c < 400:
		bits = [4]int{c / 16 / 5, c / 16 % 5, c / 4 % 4, c % 4}
	case c < 500:
		c -= 400
		row, bits = 1, [4]int{c / 4 / 5, c / 4 % 5, c % 4}
	default:
		c -= 500
		row, bits = 2, [4]int{c / 3, c % 3}
		p.preflag = true
	}
	kind := 0
	switch {
	case p.mixed:
		kind = 2
	case p.shortBlocks:
		kind = 1
	}
	band := 0
	for group, n := range groupBands[row][kind] {
		for range n {
			f.value[band] = uint8(r.take(bits[group]))
			f.most[band] = 0xFF
			if bits[group] > 0 {
				f.most[band] = 1<<bits[group] - 1
			}
			band++
		}
	}
	clear(f.value[band:])
}
