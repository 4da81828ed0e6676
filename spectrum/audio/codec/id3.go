package codec

import "io"

// ID3v2 tags are found in front of MP3 and, against the formats' rules, of FLAC and others.
// Source: ID3v2.4 structure, section 3.1 (synchsafe size, footer flag), from memory.

// ID3v2HeaderLen is the length in bytes of a tag's header, and of its footer.
const ID3v2HeaderLen = 10

// SkipID3v2 returns the offset after all ID3v2 tags at the start of the file, at most size, and whether there are any.
func SkipID3v2(r io.ReaderAt, size int64) (start int64, tagged bool, err error) {
	for start+ID3v2HeaderLen <= size {
		var head [ID3v2HeaderLen]byte
		if err := ReadAt(r, head[:], start); err != nil {
			return start, tagged, err
		}
		n := ID3v2Size(head[:])
		if n == 0 {
			break
		}
		tagged = true
		start = min(start+n, size)
	}
	return start, tagged, nil
}

// ID3v2Size returns the length in bytes of the tag that starts with b, header and footer included; 0 if b does not start
// a tag.
func ID3v2Size(b []byte) int64 {
	if len(b) < ID3v2HeaderLen || string(b[:3]) != "ID3" || b[3] == 0xFF || b[4] == 0xFF || (b[6]|b[7]|b[8]|b[9])&0x80 != 0 {
		return 0
	}
	n := int64(b[6])<<21 | int64(b[7])<<14 | int64(b[8])<<7 | int64(b[9])
	const hasFooter = 0x10
	if b[5]&hasFooter != 0 {
		n += ID3v2HeaderLen
	}
	return n + ID3v2HeaderLen
}

// ReadAt fills b from pos. Unlike [io.ReaderAt] it returns no error when it has filled b.
func ReadAt(r io.ReaderAt, b []byte, pos int64) error {
	n, err := r.ReadAt(b, pos)
	if n == len(b) {
		return nil
	}
	return err
}
