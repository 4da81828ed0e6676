package mp3

import (
	"bufio"
	"io"

	"toneplumb/spectrum/audio/codec"
)

// frame is one frame with its bytes in the file.
type frame struct {
	Header
	b      []byte // all of it; valid until the next frame is read
	gap    bool   // whether there are unreadable bytes before it
	cutOff bool   // whether the file ends inside it
}

// frames reads the frames of an MP3 stream. A header is accepted if it fits the stream and is either directly after an
// accepted frame or followed by another header at the distance that it gives.
type frames struct {
	buf     *bufio.Reader
	first   Header
	inStep  bool // whether the reader is directly after an accepted frame
	gap     bool // whether it has skipped bytes since
	gaps    int  // unreadable places between frames
	changed bool // whether the stream ended at frames of another rate or channel count
}

const bufferLen = 1 << 16

// chainLen is the number of headers in a row that make a stream. Our choice: in random bytes three agree about once in
// 10^12.
const chainLen = 3

// chainBytes is enough for that many frames.
const chainBytes = chainLen * (MaxFrameLen + HeaderLen)

func newFrames(r io.ReaderAt, start, end int64, first Header) *frames {
	return &frames{buf: bufio.NewReaderSize(io.NewSectionReader(r, start, end-start), bufferLen), first: first, inStep: true}
}

// next returns the next frame, or io.EOF.
func (f *frames) next() (frame, error) {
	for {
		b, err := f.buf.Peek(HeaderLen)
		if len(b) < HeaderLen {
			if err == nil {
				err = io.EOF
			}
			return frame{}, err
		}
		if h, ok := f.header(b); ok {
			if h.Like(f.first) {
				if fr, ok := f.accept(h); ok {
					return fr, nil
				}
			} else if !f.inStep || h.Layer == f.first.Layer {
				if around, _ := f.buf.Peek(chainBytes); chain(around) >= chainLen {
					f.changed = true
					return frame{}, io.EOF
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

// atFrame reports whether the reader is at a frame of the stream.
func (f *frames) atFrame() bool {
	b, _ := f.buf.Peek(HeaderLen)
	h, ok := f.header(b)
	return ok && h.Like(f.first)
}

// header reads a header whose frame has a known length.
func (f *frames) header(b []byte) (Header, bool) {
	h, ok := ParseHeader(b)
	h.FreeLen = f.first.FreeLen
	return h, ok && h.FrameLen() > 0
}

// accept reads the frame with header h at the reader's place, and reports whether it is accepted.
func (f *frames) accept(h Header) (frame, bool) {
	n := h.FrameLen()
	b, _ := f.buf.Peek(n + HeaderLen)
	fr := frame{Header: h, gap: f.gap}
	switch {
	case len(b) < n:
		if !f.inStep {
			return fr, false
		}
		fr.cutOff = true
	case len(b) < n+HeaderLen:
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

// tagHere returns the length in bytes of an ID3v2 tag at the reader's place, 0 if there is none.
func (f *frames) tagHere() int {
	b, _ := f.buf.Peek(codec.ID3v2HeaderLen)
	return int(codec.ID3v2Size(b))
}

// chain returns how many frames of one stream follow each other from the start of b, at most chainLen. For a chain that
// ends exactly at the end of b it returns chainLen.
func chain(b []byte) int {
	first, ok := ParseHeader(b)
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
		h, ok = ParseHeader(b)
	}
}

// freeTries bounds how many headers in free format are examined. Our choice: random bytes look like one about once in a
// megabyte.
const freeTries = 100

// find looks for the start of an MPEG audio stream in the lookLen bytes from start on. It returns the offset and the
// first header; -1 if there is no stream.
func find(r io.ReaderAt, start, end int64, lookLen int64) (at int64, h Header, err error) {
	b := make([]byte, min(lookLen+chainBytes, end-start))
	if err := codec.ReadAt(r, b, start); err != nil {
		return -1, h, err
	}
	free := 0
	for i := range b {
		if b[i] != 0xFF {
			continue
		}
		h, ok := ParseHeader(b[i:])
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

// freeLen returns the length without padding of frames in free format that follow each other from the start of b, 0 if
// there are none. At the end of b two frames are enough.
func freeLen(b []byte, first Header) int {
	for n := first.MainAt(); n < min(MaxFrameLen, len(b)); n++ {
		h, at := first, n+first.Padding
		for found := 1; at < len(b); found++ {
			var ok bool
			if h, ok = ParseHeader(b[at:]); !ok || h.Bitrate > 0 || !h.Like(first) {
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
