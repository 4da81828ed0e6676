package pcm

import (
	"encoding/binary"
	"io"

	"toneplumb/spectrum/audio/codec"
)

// Sizes and offsets of RIFF, from Microsoft's and IBM's "Multimedia Programming Interface and Data Specifications
// 1.0" (1991); those of RF64 and its ds64 chunk from EBU Tech 3306 and ITU-R BS.2088. All from memory.
const (
	riffHeaderLen  = 12 // "RIFF", size, "WAVE"
	chunkHeaderLen = 8  // four letters, size
	ds64DataAt     = 8  // the data chunk's 64-bit size inside ds64
	ds64MinLen     = 24

	bigEndianWAV = "RIFX" // replaces "RIFF"; all numbers, including samples, have their most significant byte first
)

// openEndedSize is the smallest 32-bit data size that is not meant literally: programs that cannot seek back to fill in
// the size write 0x7FFFF000 or a little less than 0x80000000 (sox 14.4.2), or 0xFFFFFFFF or a little less (ffmpeg 5.1).
// Our choice: a size of at least this that is larger than the file means "to the end of the file".
const openEndedSize = 0x7FFF0000

// riffChunks describes the chunks of a WAV file.
type riffChunks struct {
	order       binary.ByteOrder
	format      []byte // the body of "fmt ", at most fmtMaxLen bytes
	dataAt      int64  // offset of the first sample
	dataLen     int64  // bytes of sound in the file
	declaredLen int64  // bytes of sound that the header announces; -1 if it does not
	hasData     bool
	more        bool // whether more sound follows: a second data chunk, or a second file
}

// walkRIFF finds the fmt and data chunks of a RIFF, RIFX, RF64 or BW64 file of size bytes, in any order. Every size is
// checked against the file's, and no declared size decides how much is allocated. Sizes 0 and 0xFFFFFFFF of the data
// chunk mean "to the end", unless ds64 gives the size or, for 0, complete chunks fill the rest of the file.
func walkRIFF(r io.ReaderAt, size int64) (riffChunks, error) {
	found := riffChunks{order: binary.LittleEndian}
	var form [4]byte
	if err := codec.ReadAt(r, form[:], 0); err != nil {
		return found, err
	}
	if string(form[:]) == bigEndianWAV {
		found.order = binary.BigEndian
	}
	longData := int64(-1)
	for pos := int64(riffHeaderLen); pos+chunkHeaderLen <= size; {
		id, declared, err := chunkHeader(r, pos, found.order)
		if err != nil {
			return found, err
		}
		body := pos + chunkHeaderLen
		rest := size - body
		length := min(declared, rest)
		switch id {
		case "ds64":
			if longData, err = longDataSize(r, body, length); err != nil {
				return found, err
			}
		case "fmt ":
			if found.format == nil {
				found.format = make([]byte, min(length, fmtMaxLen))
				if err := codec.ReadAt(r, found.format, body); err != nil {
					return found, err
				}
			}
		case "data":
			declared = dataSize(r, size, body, declared, longData, found.order)
			length = rest
			if declared >= 0 {
				length = min(declared, rest)
			}
			if found.hasData {
				found.more = found.more || length > 0
			} else {
				found.dataAt, found.dataLen, found.declaredLen = body, length, declared
				found.hasData = length > 0
			}
		case "RIFF", bigEndianWAV, "RF64", "BW64":
			found.more = found.more || found.hasData
		}
		pos = nextChunk(r, size, body, length)
	}
	return found, nil
}

// dataSize returns the number of bytes that a data chunk with the given 32-bit size announces, -1 for "to the end".
func dataSize(r io.ReaderAt, size, body, declared, longData int64, order binary.ByteOrder) int64 {
	rest := size - body
	switch {
	case declared == 0xFFFFFFFF && longData > 0:
		return longData
	case declared == 0 && rest > 0 && !chunksUpToEnd(r, size, body, order):
		return -1
	case declared >= openEndedSize && declared > rest:
		return -1
	}
	return declared
}

// longDataSize returns the data chunk's size from the body of ds64, -1 if it is missing or impossible.
func longDataSize(r io.ReaderAt, body, length int64) (int64, error) {
	if length < ds64MinLen {
		return -1, nil
	}
	var b [8]byte
	if err := codec.ReadAt(r, b[:], body+ds64DataAt); err != nil {
		return -1, err
	}
	if v := binary.LittleEndian.Uint64(b[:]); v > 0 && v < 1<<62 {
		return int64(v), nil
	}
	return -1, nil
}

// nextChunk returns the offset of the chunk after a body of the given length. A body of odd length is followed by a pad
// byte. Some programs leave it out, which the place of the next chunk's name shows.
func nextChunk(r io.ReaderAt, size, body, length int64) int64 {
	next := body + length
	if length%2 == 0 {
		return next
	}
	if next+1+4 <= size && !nameAt(r, next+1) && nameAt(r, next) {
		return next
	}
	return next + 1
}

// chunksUpToEnd reports whether complete chunks with proper names fill the file from pos to its end.
func chunksUpToEnd(r io.ReaderAt, size, pos int64, order binary.ByteOrder) bool {
	for pos < size {
		id, length, err := chunkHeader(r, pos, order)
		if err != nil || !properName(id) || pos+chunkHeaderLen+length > size {
			return false
		}
		pos += chunkHeaderLen + length + length%2
	}
	return true
}

func chunkHeader(r io.ReaderAt, pos int64, order binary.ByteOrder) (id string, length int64, err error) {
	var b [chunkHeaderLen]byte
	if err := codec.ReadAt(r, b[:], pos); err != nil {
		return "", 0, err
	}
	return string(b[:4]), int64(order.Uint32(b[4:])), nil
}

// nameAt reports whether there is a proper chunk name at pos.
func nameAt(r io.ReaderAt, pos int64) bool {
	var b [4]byte
	return codec.ReadAt(r, b[:], pos) == nil && properName(string(b[:]))
}

// properName reports whether a chunk's name is four printable ASCII characters.
func properName(id string) bool {
	for _, c := range []byte(id) {
		if c < ' ' || c > '~' {
			return false
		}
	}
	return true
}

// IsWAV reports whether a file that begins with head is a WAV file.
func IsWAV(head []byte) bool {
	if len(head) < riffHeaderLen || string(head[8:12]) != "WAVE" {
		return false
	}
	switch string(head[:4]) {
	case "RIFF", bigEndianWAV, "RF64", "BW64":
		return true
	}
	return false
}
