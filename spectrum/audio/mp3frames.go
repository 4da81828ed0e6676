package audio

import (
	"bufio"
	"io"
)

// mp3Frame is one whole frame as it stands in the file.
type mp3Frame struct {
	mpegHeader
	b      []byte // all of it; valid until the next frame is asked for
	gap    bool   // something unreadable stood before it
	cutOff bool   // the file ends inside it
}

// mp3Frames walks over the frames of an MP3 stream. A header counts when it fits the stream and the next frame's
// header stands where it says, or when it follows directly on a frame that counted.
type mp3Frames struct {
	buf     *bufio.Reader
	first   mpegHeader
	inStep  bool
	gap     bool
	changed bool // the stream ended at frames of another rate or channel count
}

const mp3BufferLen = 1 << 16

// chainLen is how many headers in a row make a stream. Our choice: in random bytes three agree about once in 10^12.
const chainLen = 3

func newMP3Frames(r io.ReaderAt, start, end int64, first mpegHeader) *mp3Frames {
	return &mp3Frames{buf: bufio.NewReaderSize(io.NewSectionReader(r, start, end-start), mp3BufferLen), first: first, inStep: true}
}

// next returns the next frame, or io.EOF.
func (f *mp3Frames) next() (mp3Frame, error) {
	for {
		b, err := f.buf.Peek(mp3HeaderLen)
		if len(b) < mp3HeaderLen {
			if err == nil {
				err = io.EOF
			}
			return mp3Frame{}, err
		}
		if h, ok := parseMPEGHeader(b); ok && h.bitrate > 0 {
			if h.like(f.first) {
				if fr, ok := f.accept(h); ok {
					return fr, nil
				}
			} else if !f.inStep || h.layer == f.first.layer {
				if around, _ := f.buf.Peek(chainLen * (maxMPEGFrameLen + mp3HeaderLen)); chain(around) >= chainLen {
					f.changed = true
					return mp3Frame{}, io.EOF
				}
			}
		}
		if n := f.tagHere(); n > 0 {
			f.buf.Discard(n) // a tag between joined files
			continue
		}
		f.inStep = false
		f.gap = true
		f.buf.Discard(1)
	}
}

// accept takes the frame with header h at the reader's place if there is reason to believe in it.
func (f *mp3Frames) accept(h mpegHeader) (mp3Frame, bool) {
	n := h.frameLen()
	b, _ := f.buf.Peek(n + mp3HeaderLen)
	fr := mp3Frame{mpegHeader: h, gap: f.gap}
	switch {
	case len(b) < n:
		if !f.inStep {
			return fr, false
		}
		fr.cutOff = true
	case len(b) < n+mp3HeaderLen:
		b = b[:n]
	default:
		next, ok := parseMPEGHeader(b[n:])
		if !f.inStep && !(ok && next.like(h)) {
			return fr, false
		}
		b = b[:n]
	}
	fr.b = append([]byte(nil), b...)
	f.buf.Discard(len(b))
	f.inStep = true
	f.gap = false
	return fr, true
}

// tagHere returns the length of an ID3v2 tag at the reader's place, 0 if there is none.
func (f *mp3Frames) tagHere() int {
	b, _ := f.buf.Peek(id3v2HeaderLen)
	return int(id3v2Size(b))
}

// chain returns how many frames of one stream follow on each other from the start of b, at most chainLen; a chain
// that ends exactly at the end of b counts as full.
func chain(b []byte) int {
	first, ok := parseMPEGHeader(b)
	for n, h := 0, first; ; n++ {
		if !ok || !h.like(first) || h.bitrate == 0 {
			return n
		}
		if n+1 == chainLen {
			return chainLen
		}
		length := h.frameLen()
		if len(b) == length {
			return chainLen
		}
		if len(b) < length {
			return n
		}
		b = b[length:]
		h, ok = parseMPEGHeader(b)
	}
}

// findMP3 looks for the start of an MPEG audio stream from start on. It returns -1 if there is none; free reports one in free
// format, whose frame length stands nowhere.
func findMP3(r io.ReaderAt, start, end int64, lookLen int64) (at int64, h mpegHeader, free bool, err error) {
	b := make([]byte, min(lookLen+chainLen*maxMPEGFrameLen+mp3HeaderLen, end-start))
	if err := readAt(r, b, start); err != nil {
		return -1, h, false, err
	}
	for i := range b {
		if b[i] != 0xFF {
			continue
		}
		h, ok := parseMPEGHeader(b[i:])
		if !ok {
			continue
		}
		whole := b[i:]
		if chain(whole) >= chainLen {
			return start + int64(i), h, false, nil
		}
		if h.bitrate == 0 && freeChain(whole, h) {
			return start + int64(i), h, true, nil
		}
	}
	return -1, h, false, nil
}

// freeChain reports whether frames of one free-format stream follow on each other at a constant distance.
func freeChain(b []byte, h mpegHeader) bool {
	same := func(at int) bool {
		if at+mp3HeaderLen > len(b) {
			return false
		}
		o, ok := parseMPEGHeader(b[at:])
		return ok && o.bitrate == 0 && o.like(h)
	}
	const minLen, maxLen = 24, 8192 // Our choice, wide around what the bit reservoir allows
	for d := minLen; d < maxLen; d++ {
		if !same(d) {
			continue
		}
		for slack := -1; slack <= 1; slack++ { // padding
			if same(2*d + slack) {
				return true
			}
		}
	}
	return false
}
