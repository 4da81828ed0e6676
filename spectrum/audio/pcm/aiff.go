package pcm

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"slices"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
)

// AIFF and AIFF-C. Source: Apple, "Audio Interchange File Format" 1.3 (1989) and "AIFF-C" draft (1991), from memory.
const (
	commMinLen = 18 // channels 2, frames 4, bits 2, rate 10
	commMaxLen = 22 // as commMinLen, and the kind of samples 4
	ssndHead   = 8  // offset, block size
)

// aiffChunks describes the chunks of an AIFF file.
type aiffChunks struct {
	common   []byte // the body of COMM, at most commMaxLen bytes
	soundAt  int64  // offset of the first sample
	soundLen int64  // bytes of sound in the file
	declared int64  // bytes of sound that the header announces; -1 if it does not
	hasSound bool
}

// IsAIFF reports whether a file that begins with head is an AIFF or AIFF-C file.
func IsAIFF(head []byte) bool {
	return len(head) >= riffHeaderLen && string(head[:4]) == "FORM" && (string(head[8:12]) == "AIFF" || string(head[8:12]) == "AIFC")
}

// OpenAIFF opens an AIFF or AIFF-C file of size bytes. The error is a [*codec.Error] without a path, or that of r.
func OpenAIFF(r io.ReaderAt, size int64) (codec.Decoder, error) {
	found, err := walkAIFF(r, size)
	if err != nil {
		return nil, err
	}
	if len(found.common) < commMinLen {
		return nil, codec.Damaged("is an AIFF file without a description of its sound (no COMM chunk)")
	}
	s := &Source{container: "AIFF"}
	if s.layout, s.toLE, err = aiffLayout(found.common); err != nil {
		return nil, err
	}
	if !found.hasSound || found.soundLen < int64(s.align) {
		return nil, codec.NewError(finding.NoSound, "is an AIFF file with no sound in it", "export the recording again")
	}
	frames := int64(binary.BigEndian.Uint32(found.common[2:]))
	there := found.soundLen / int64(s.align)
	if frames == 0 {
		frames = max(found.declared/int64(s.align), there) // the header was never completed
	}
	s.announce = frames
	s.body = io.NewSectionReader(r, found.soundAt, min(there, frames)*int64(s.align))
	if s.unpack, err = chooseUnpacker(r, s.layout, 0, 0, binary.BigEndian); err != nil {
		return nil, err
	}
	s.allocate()
	return s, nil
}

// walkAIFF finds the COMM and SSND chunks, in any order. Every size is checked against the file's.
func walkAIFF(r io.ReaderAt, size int64) (aiffChunks, error) {
	var found aiffChunks
	for pos := int64(riffHeaderLen); pos+chunkHeaderLen <= size; {
		id, declared, err := chunkHeader(r, pos, binary.BigEndian)
		if err != nil {
			return found, err
		}
		body := pos + chunkHeaderLen
		rest := size - body
		length := min(declared, rest)
		switch id {
		case "COMM":
			if found.common == nil {
				found.common = make([]byte, min(length, commMaxLen))
				if err := codec.ReadAt(r, found.common, body); err != nil {
					return found, err
				}
			}
		case "SSND":
			// Programs that cannot seek back leave 0 or a size larger than any file.
			open := declared == 0 && rest > ssndHead && !nameAt(r, body) || declared >= openEndedSize && declared > rest
			if open {
				declared, length = -1, rest
			}
			if found.hasSound || length <= ssndHead {
				break
			}
			var sound [4]byte
			if err := codec.ReadAt(r, sound[:], body); err != nil {
				return found, err
			}
			skip := ssndHead + int64(binary.BigEndian.Uint32(sound[:]))
			found.soundAt, found.soundLen = body+skip, length-skip
			if found.declared = -1; declared >= 0 {
				found.declared = declared - skip
			}
			found.hasSound = found.soundLen > 0
		}
		pos = nextChunk(r, size, body, length)
	}
	return found, nil
}

// aiffPacked names the kinds of compressed sound in AIFF-C files.
var aiffPacked = map[string]string{
	"ulaw": "µ-law", "ULAW": "µ-law", "alaw": "A-law", "ALAW": "A-law", "ima4": "ADPCM", "MAC3": "MACE", "MAC6": "MACE",
	"GSM ": "GSM", "QDMC": "QDesign", "QDM2": "QDesign", "Qclp": "speech",
}

// aiffLayout reads the body of COMM. toLE converts samples of the file in place to those of a WAV file: least significant
// byte first, 8 bits unsigned. It is nil if they already are.
func aiffLayout(b []byte) (l layout, toLE func([]byte), err error) {
	l.channels = int(binary.BigEndian.Uint16(b))
	l.bits = int(binary.BigEndian.Uint16(b[6:]))
	rateHz := extended(b[8:])
	if !(rateHz < math.MaxInt32) {
		rateHz = math.MaxInt32
	}
	if err := codec.CheckFormat(int64(math.Round(rateHz)), l.channels); err != nil {
		return l, nil, err
	}
	l.rateHz = int(math.Round(rateHz))
	kind := "NONE"
	if len(b) >= commMaxLen {
		kind = string(b[commMinLen:commMaxLen])
	}
	little, unsigned, err := l.setKind(kind)
	if err != nil {
		return l, nil, err
	}
	if !l.float && (l.bits < 4 || l.bits > 32) {
		return l, nil, codec.NewError(finding.CannotDecode, fmt.Sprintf("is an AIFF file with %d-bit samples, which cannot be read", l.bits), codec.HintConvert)
	}
	l.width = (l.bits + 7) / 8
	l.align = l.width * l.channels
	switch {
	case l.width == 1 && !unsigned:
		toLE = flipSign
	case l.width > 1 && !little:
		width := l.width
		toLE = func(b []byte) { reverseBytes(b, width) }
	}
	return l, toLE, nil
}

// setKind sets the number format and the bits from the four letters of a kind of sample. It returns whether the least
// significant byte comes first and whether 8-bit samples are unsigned.
func (l *layout) setKind(kind string) (little, unsigned bool, err error) {
	switch kind {
	case "NONE", "twos", "\x00\x00\x00\x00":
	case "sowt":
		little = true
	case "raw ":
		unsigned = l.bits <= 8
	case "in24":
		l.bits = 24
	case "in32":
		l.bits = 32
	case "42ni":
		l.bits, little = 32, true
	case "fl32", "FL32":
		l.float, l.bits = true, 32
	case "fl64", "FL64":
		l.float, l.bits = true, 64
	default:
		err = packedError("an AIFF file", aiffPacked[kind], fmt.Sprintf("%q", kind))
	}
	return little, unsigned, err
}

// extended reads an 80-bit floating-point number of IEEE 754: sign and exponent in 16 bits, 64 bits of mantissa with
// its leading one. It returns a very large number for infinities and invalid numbers, 0 for negative ones.
func extended(b []byte) float64 {
	exponent := int(binary.BigEndian.Uint16(b))
	if exponent >= 0x8000 {
		return 0
	}
	return math.Ldexp(float64(binary.BigEndian.Uint64(b[2:])), exponent-16383-63)
}

// flipSign converts signed 8-bit samples to unsigned ones, in place.
func flipSign(b []byte) {
	for i := range b {
		b[i] ^= 0x80
	}
}

// reverseBytes reverses the order of the bytes in every sample of width bytes, in place.
func reverseBytes(b []byte, width int) {
	for ; len(b) >= width; b = b[width:] {
		slices.Reverse(b[:width])
	}
}
