package ogg

import (
	"math"
	"math/bits"
)

// Limits for the code books of a Vorbis stream. Our choice: the encoders in use stay a hundred times below. The library
// allocates memory for the size that a book claims before it reads the content.
const (
	bookEntriesMax = 1 << 17 // in one book
	bookTotalMax   = 1 << 20 // entries of all books
	bookValuesMax  = 1 << 22 // numbers in all books
)

// vorbisSetup checks that the code books, floors and residues in a setup header are complete and of plausible size. b is
// the header after its signature of seven bytes. On other headers the library would allocate any amount of memory or
// never return: a book without entries or with vectors of no numbers, code lengths that are cut off, a residue that ends
// before it begins. vorbisSetup returns the header for the library, in which every book has a used entry. Encoders do
// write books without one, and a damaged packet that refers to such a book would make the library loop for ever. Source:
// Vorbis I specification, section 4.2.4.
func vorbisSetup(b []byte) (header []byte, ok bool) {
	r := &lowBits{b: b}
	books := r.take(8) + 1
	unused, ok := vorbisBooks(r, books)
	if !ok || !vorbisRest(r, books) || r.pos > 8*len(b) {
		return nil, false
	}
	if len(unused) == 0 {
		return b, true
	}
	const used, length = 1, 5 // in bits: whether an entry is used, and the length of its code minus one
	var w lowBits
	from := lowBits{b: b}
	for _, at := range append(unused, 8*len(b)) {
		w.copy(&from, at-from.pos)
		if at < 8*len(b) {
			from.pos++
			w.put(1, used)
			w.put(0, length)
		}
	}
	return w.b, true
}

// vorbisRest skips floors and residues, and reports whether they are valid.
func vorbisRest(r *lowBits, books int) bool {
	const transformBits = 16
	transforms := r.take(6) + 1
	r.pos += transformBits * transforms
	for range r.take(6) + 1 {
		if !vorbisFloor(r) {
			return false
		}
	}
	for range r.take(6) + 1 {
		if !vorbisResidue(r, books) {
			return false
		}
	}
	return true
}

// vorbisBooks skips the code books. For each book without a used entry it returns the position of the bit that says
// whether the first entry is used. Source: section 3.2.1.
func vorbisBooks(r *lowBits, books int) (unused []int, ok bool) {
	totalEntries, totalValues := 0, 0
	for range books {
		const mark = 0x564342
		if r.take(24) != mark {
			return nil, false
		}
		dimensions, entries := r.take(16), r.take(24)
		if dimensions < 1 || entries < 2 || entries > bookEntriesMax {
			return nil, false
		}
		firstMark := r.pos + 2
		used, ok := bookLengths(r, entries)
		if !ok {
			return nil, false
		}
		if used == 0 {
			unused = append(unused, firstMark)
		}
		totalEntries += entries
		values := 0
		switch kind := r.take(4); kind {
		case 0:
		case 1, 2:
			r.pos += 32 + 32
			width := r.take(4) + 1
			r.pos++
			count := entries * dimensions
			if kind == 1 {
				count = int(math.Floor(math.Pow(float64(entries), 1/float64(dimensions))))
			}
			r.pos += count * width
			values = entries * dimensions
			if count < 1 {
				return nil, false
			}
		default:
			return nil, false
		}
		totalValues += values
		if totalEntries > bookTotalMax || totalValues > bookValuesMax || r.pos > 8*len(r.b) {
			return nil, false
		}
	}
	return unused, true
}

// vorbisFloor skips a floor, and reports whether it is valid. It refuses one without partitions, which surround sound
// has, since the library misreads it. Source: sections 6.2.1 and 7.2.2.
func vorbisFloor(r *lowBits) bool {
	switch r.take(16) {
	case 0:
		r.pos += 8 + 16 + 16 + 6 + 8
		r.pos += 8 * (r.take(4) + 1)
	case 1:
		classes := make([]int, r.take(5))
		highest := -1
		for i := range classes {
			classes[i] = r.take(4)
			highest = max(highest, classes[i])
		}
		if highest < 0 {
			return false
		}
		dimensions := make([]int, highest+1)
		for i := range dimensions {
			dimensions[i] = r.take(3) + 1
			subclass := r.take(2)
			if subclass > 0 {
				r.pos += 8
			}
			r.pos += 8 << subclass
		}
		r.pos += 2
		width := r.take(4)
		for _, c := range classes {
			r.pos += dimensions[c] * width
		}
	default:
		return false
	}
	return true
}

// vorbisResidue skips a residue, and reports whether it is valid. Source: section 8.6.1.
func vorbisResidue(r *lowBits, books int) bool {
	kind, begin, end := r.take(16), r.take(24), r.take(24)
	r.pos += 24
	classes := r.take(6) + 1
	book := r.take(8)
	if kind > 2 || begin > end || book >= books {
		return false
	}
	used := 0
	for range classes {
		used += bits.OnesCount(uint(r.take(3)))
		if r.take(1) == 1 {
			used += bits.OnesCount(uint(r.take(5)))
		}
	}
	r.pos += 8 * used
	return true
}

// bookLengths skips the code word lengths of a book and returns how many entries are used.
func bookLengths(r *lowBits, entries int) (used int, ok bool) {
	if ordered := r.take(1) == 1; ordered {
		r.take(5)
		for have := 0; have < entries; {
			have += r.take(bits.Len(uint(entries - have)))
			if have > entries || r.pos > 8*len(r.b) {
				return 0, false
			}
		}
		return entries, true
	}
	sparse := r.take(1) == 1
	for range entries {
		if !sparse || r.take(1) == 1 {
			r.pos += 5
			used++
		}
		if r.pos > 8*len(r.b) {
			return 0, false
		}
	}
	return used, true
}

// lowBits reads or writes bits, the least significant bit of each byte first. Bits read beyond the end are 0; writing
// extends b.
type lowBits struct {
	b   []byte
	pos int
}

func (r *lowBits) take(n int) int {
	v := 0
	for i := range n {
		if at := r.pos >> 3; at < len(r.b) {
			v |= int(r.b[at]>>(r.pos&7)&1) << i
		}
		r.pos++
	}
	return v
}

func (r *lowBits) put(v, n int) {
	for i := range n {
		if r.pos>>3 == len(r.b) {
			r.b = append(r.b, 0)
		}
		r.b[r.pos>>3] |= byte(v>>i&1) << (r.pos & 7)
		r.pos++
	}
}

// copy writes the next n bits of from.
func (r *lowBits) copy(from *lowBits, n int) {
	for range n {
		r.put(from.take(1), 1)
	}
}
