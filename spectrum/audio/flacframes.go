package audio

import (
	"bufio"
	"fmt"
	"io"

	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"
)

// flacFrames finds and decodes the frames of a FLAC stream one after the other, and finds the way back after damage.
type flacFrames struct {
	r          io.ReaderAt
	pos, end   int64 // next byte to look at, end of the file
	buf        *bufio.Reader
	info       *meta.StreamInfo
	shift      int64 // place of the stream's own sample number 0 in what is given out
	started    bool
	unreadable bool // bytes at the end that gave no frame
	patched    patchedReader
}

// flacBufferLen is the bytes read from a FLAC file at a time; a frame of CD sound takes about 10 000.
const flacBufferLen = 1 << 17

func newFLACFrames(r io.ReaderAt, pos, end int64, info *meta.StreamInfo) *flacFrames {
	f := &flacFrames{r: r, end: end, info: info, buf: bufio.NewReaderSize(nil, flacBufferLen)}
	f.seek(pos)
	return f
}

func (f *flacFrames) seek(pos int64) {
	f.pos = pos
	f.buf.Reset(io.NewSectionReader(f.r, pos, f.end-pos))
}

// next returns the next frame that decodes without an error, and the number of silent frames that stand before it
// for damage, when done frames were given out before. It returns io.EOF at the end.
func (f *flacFrames) next(done int64) (*frame.Frame, int64, error) {
	from := f.pos
	for {
		h, err := f.findHeader()
		if err != nil {
			f.unreadable = f.end > from
			return nil, 0, err
		}
		start := f.pos
		block, length, err := f.decode(h)
		if err != nil {
			// Nothing of a broken frame can be trusted, its length included.
			f.seek(start + 1)
			continue
		}
		f.pos += length
		first := f.firstSample(h)
		if start == from {
			if !f.started {
				f.shift = -first // a stream cut out of a longer one counts from its own start
			}
			f.started = true
			return block, 0, nil
		}
		f.started = true
		return block, f.gap(first+f.shift-done, start-from), nil
	}
}

// gap checks a number of missing frames against the bytes that were skipped: a header's checksum lets one damaged
// number in 256 through. Our choice of limit: a frame has at least ten bytes.
func (f *flacFrames) gap(missing, skipped int64) int64 {
	const minFrameLen = 10
	most := (skipped/minFrameLen + 1) * int64(f.info.BlockSizeMax)
	if missing < 0 || missing > most {
		return 0
	}
	return missing
}

func (f *flacFrames) firstSample(h flacHeader) int64 {
	if h.variable {
		return int64(h.number)
	}
	return int64(h.number) * int64(f.info.BlockSizeMax)
}

// findHeader moves to the next frame header that fits the stream.
func (f *flacFrames) findHeader() (flacHeader, error) {
	for {
		b, err := f.buf.Peek(flacHeaderMax)
		if len(b) == 0 {
			if err == nil || err == bufio.ErrBufferFull {
				err = io.EOF
			}
			return flacHeader{}, err
		}
		if b[0] == 0xFF {
			if h, ok := parseFLACHeader(b); ok && f.fits(h) {
				return h, nil
			}
		}
		f.buf.Discard(1)
		f.pos++
	}
}

func (f *flacFrames) fits(h flacHeader) bool {
	return h.channels == int(f.info.NChannels) &&
		(h.rateHz == 0 || h.rateHz == int(f.info.SampleRate)) &&
		(h.bits == 0 || h.bits == int(f.info.BitsPerSample)) &&
		h.blockSize <= int(f.info.BlockSizeMax)
}

// decode decodes the frame at f.pos and returns its length in bytes.
func (f *flacFrames) decode(h flacHeader) (block *frame.Frame, length int64, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("flac decoder: %v", p)
		}
	}()
	p := &f.patched
	p.reset(f.buf, h)
	// Our choice: no frame takes more than 40 bits a sample; it keeps a broken one from running through the file.
	p.limit = int64(h.len) + int64(h.blockSize)*int64(h.channels)*5 + 1<<10
	block, err = frame.New(p)
	if err != nil {
		return nil, 0, err
	}
	block.BitsPerSample = f.info.BitsPerSample // the library leaves "as in STREAMINFO" at 0
	err = block.Parse()
	if p.changed && wholeFrame(block) && p.crc == 0 {
		err = nil // the library's checksum is over the changed header, ours over the real one
	}
	if err == nil && !wholeFrame(block) {
		err = fmt.Errorf("flac decoder: incomplete frame")
	}
	return block, p.n, err
}

// wholeFrame reports whether every channel has all its samples.
func wholeFrame(b *frame.Frame) bool {
	for _, s := range b.Subframes {
		if s == nil || len(s.Samples) != int(b.BlockSize) {
			return false
		}
	}
	return len(b.Subframes) > 0
}

// patchedReader passes a frame on to the library. The library logs a line for every frame of 24 and 176.4 kHz, so
// those rates are replaced in the header by the code for "as in STREAMINFO", and the checksums are taken here.
type patchedReader struct {
	r       io.Reader
	head    []byte // header bytes still to pass on
	n       int64  // bytes passed on
	limit   int64  // bytes that may be passed on
	changed bool
	crc     uint16
}

func (p *patchedReader) reset(r *bufio.Reader, h flacHeader) {
	const code176400, code24000 = 2, 7
	*p = patchedReader{r: r, head: p.head[:0]}
	if h.rateCode != code176400 && h.rateCode != code24000 {
		return
	}
	raw, _ := r.Peek(h.len)
	p.changed = true
	p.crc = crc16(0, raw)
	p.head = append(p.head, raw...)
	p.head[2] &= 0xF0
	p.head[h.len-1] = crc8(p.head[:h.len-1])
	r.Discard(h.len)
}

func (p *patchedReader) Read(b []byte) (int, error) {
	if len(p.head) > 0 {
		n := copy(b, p.head)
		p.head = p.head[n:]
		p.n += int64(n)
		return n, nil
	}
	if p.n >= p.limit {
		return 0, io.ErrUnexpectedEOF
	}
	n, err := p.r.Read(b)
	p.n += int64(n)
	if p.changed {
		p.crc = crc16(p.crc, b[:n])
	}
	return n, err
}
