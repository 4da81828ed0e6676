package mp3

import (
	"math/rand/v2"
	"slices"
)

// Random streams that the standard allows but encoders in use do not make: all codes, mixed blocks, intensity stereo,
// shared scale factors, subblock gains, checksums. Only the decoding of the bits matters: the sound is noise.

// bitWriter writes bits, the most significant first.
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

// blocks says which types of blocks a stream has: normal, start and stop; short; mixed; short and mixed.
type blocks int

const (
	long blocks = iota
	short
	mixed
	all
)

// after returns a random type of block that may follow another, and whether it is mixed. ffmpeg 5.1 relies on short blocks
// being between a start and a stop block.
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

// kind describes the content of a random stream.
type kind struct {
	version   Version
	rate      int // 0 to 2
	bitIndex  int
	mode, ext int
	crc       bool
	blocks    blocks
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

// frame makes a frame's side information and main data, of at most most bits.
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
