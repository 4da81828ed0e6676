package audio

import (
	"bufio"
	"io"

	"toneplumb/spectrum/audio/mp3"
)

// mp3Frame is one whole frame as it stands in the file.
type mp3Frame struct {
	mp3.Header
	b      []byte // all of it; valid until the next frame is asked for
	gap    bool   // something unreadable stood before it
	cutOff bool   // the file ends inside it
}

// mp3Frames walks over the frames of an MP3 stream. A header counts when it fits the stream and the next frame's
// header stands where it says, or when it follows directly on a frame that counted.
type mp3Frames struct {
	buf     *bufio.Reader
	first   mp3.Header
	inStep  bool
	gap     bool
	gaps    int  // unreadable places between frames
	changed bool // the stream ended at frames of another rate or channel count
}

const mp3BufferLen = 1 << 16

// chainLen is how many headers in a row make a stream. Our choice: in random bytes three agree about once in 10^12.
const chainLen = 3

// chainBytes holds so many frames.
const chainBytes = chainLen * (mp3.MaxFrameLen + mp3.HeaderLen)

func newMP3Frames(r io.ReaderAt, start, end int64, first mp3.Header) *mp3Frames {
	return &mp3Frames{buf: bufio.NewReaderSize(io.NewSectionReader(r, start, end-start), mp3BufferLen), first: first, inStep: true}
}

// next returns the next frame, or io.EOF.
func (f *mp3Frames) next() (mp3Frame, error) {
	for {
		b, err := f.buf.Peek(mp3.HeaderLen)
		if len(b) < mp3.HeaderLen {
			if err == nil {
				err = io.EOF
			}
			return mp3Frame{}, err
		}
		if h, ok := f.header(b); ok {
			if h.Like(f.first) {
				if fr, ok := f.accept(h); ok {
					return fr, nil
				}
			} else if !f.inStep || h.Layer == f.first.Layer {
				if around, _ := f.buf.Peek(chainBytes); chain(around) >= chainLen {
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

// atFrame reports whether a frame of the stream stands at the reader's place.
func (f *mp3Frames) atFrame() bool {
	b, _ := f.buf.Peek(mp3.HeaderLen)
	h, ok := f.header(b)
	return ok && h.Like(f.first)
}

// header reads a header whose frame has a known length.
func (f *mp3Frames) header(b []byte) (mp3.Header, bool) {
	h, ok := mp3.ParseHeader(b)
	h.FreeLen = f.first.FreeLen
	return h, ok && h.FrameLen() > 0
}

// accept takes the frame with header h at the reader's place if there is reason to believe in it.
func (f *mp3Frames) accept(h mp3.Header) (mp3Frame, bool) {
	n := h.FrameLen()
	b, _ := f.buf.Peek(n + mp3.HeaderLen)
	fr := mp3Frame{Header: h, gap: f.gap}
	switch {
	case len(b) < n:
		if !f.inStep {
			return fr, false
		}
		fr.cutOff = true
	case len(b) < n+mp3.HeaderLen:
		b = b[:n]
	default:
		next, ok := f.header(b[n:])
		if !f.inStep && !(ok && next.Like(h)) {
			return fr, false
		}
		b = b[:n]
	}
	fr.b = b
	f.buf.Discard(len(b))
	f.inStep = true
	if f.gap {
		f.gaps++
		f.gap = false
	}
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
	first, ok := mp3.ParseHeader(b)
	for n, h := 0, first; ; n++ {
		if !ok || !h.Like(first) || h.Bitrate == 0 {
			return n
		}
		if n+1 == chainLen {
			return chainLen
		}
		length := h.FrameLen()
		if len(b) == length {
			return chainLen
		}
		if len(b) < length {
			return n
		}
		b = b[length:]
		h, ok = mp3.ParseHeader(b)
	}
}

// freeTries bounds how many headers in free format are followed up. Our choice: in random bytes one header in a
// megabyte looks like one.
const freeTries = 100

// findMP3 looks for the start of an MPEG audio stream from start on. It returns -1 if there is none.
func findMP3(r io.ReaderAt, start, end int64, lookLen int64) (at int64, h mp3.Header, err error) {
	b := make([]byte, min(lookLen+chainBytes, end-start))
	if err := readAt(r, b, start); err != nil {
		return -1, h, err
	}
	free := 0
	for i := range b {
		if b[i] != 0xFF {
			continue
		}
		h, ok := mp3.ParseHeader(b[i:])
		if !ok {
			continue
		}
		if chain(b[i:]) >= chainLen {
			return start + int64(i), h, nil
		}
		if h.Bitrate == 0 && free < freeTries {
			free++
			if h.FreeLen = freeLen(b[i:], h); h.FreeLen > 0 {
				return start + int64(i), h, nil
			}
		}
	}
	return -1, h, nil
}

// freeLen returns the length without padding of frames in free format that follow on each other from the start of b, 0 if
// they do not. Two are enough at the end of b.
func freeLen(b []byte, first mp3.Header) int {
	for n := first.MainAt(); n < min(mp3.MaxFrameLen, len(b)); n++ {
		h, at := first, n+first.Padding
		for found := 1; at < len(b); found++ {
			var ok bool
			if h, ok = mp3.ParseHeader(b[at:]); !ok || h.Bitrate > 0 || !h.Like(first) {
				break
			}
			at += n + h.Padding
			if found+1 == chainLen || at == len(b) {
				return n
			}
		}
	}
	return 0
}
