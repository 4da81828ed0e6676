package audio

import (
	"bufio"
	"io"

	"github.com/mewkiz/flac/meta"
)

// flacFrames finds and decodes the frames of a FLAC stream one after the other, and finds the way back after damage.
type flacFrames struct {
	pos, end   int64 // next byte to look at, end of the file
	buf        *bufio.Reader
	info       *meta.StreamInfo
	sound      flacSound
	shift      int64 // place of the stream's own sample number 0 in what is given out
	started    bool
	unreadable bool // bytes at the end that gave no frame
}

// flacBufferLen is the bytes read from a FLAC file at a time; a frame of CD sound takes about 10 000.
const flacBufferLen = 1 << 17

func newFLACFrames(r io.ReaderAt, pos, end int64, info *meta.StreamInfo) *flacFrames {
	buffer := max(flacBufferLen, frameMax(int(info.BlockSizeMax), int(info.NChannels)))
	return &flacFrames{pos: pos, end: end, info: info, buf: bufio.NewReaderSize(io.NewSectionReader(r, pos, end-pos), buffer)}
}

// frameMax is how many bytes of a frame are looked at. Our choice: no frame takes more than 40 bits a sample, and a
// header.
func frameMax(blockSize, channels int) int { return blockSize*channels*5 + 1<<10 }

func (f *flacFrames) skip(bytes int) {
	n, _ := f.buf.Discard(bytes)
	f.pos += int64(n)
}

// next returns the next frame that decodes without an error, and the number of silent frames that stand before it
// for damage, when done frames were given out before. It returns io.EOF at the end. The sound is good until the next
// call.
func (f *flacFrames) next(done int64) (*flacSound, int64, error) {
	from := f.pos
	for {
		h, err := f.findHeader()
		if err != nil {
			f.unreadable = f.end > from
			return nil, 0, err
		}
		start := f.pos
		raw, err := f.buf.Peek(frameMax(h.blockSize, h.channels))
		if err != nil && err != io.EOF {
			return nil, 0, err
		}
		length, ok := f.sound.decode(raw, h, uint(f.info.BitsPerSample))
		if !ok {
			f.skip(1) // nothing of a broken frame can be trusted, its length included
			continue
		}
		f.skip(length)
		first := f.firstSample(h)
		if start == from {
			if !f.started {
				f.shift = -first // a stream cut out of a longer one counts from its own start
			}
			f.started = true
			return &f.sound, 0, nil
		}
		f.started = true
		return &f.sound, f.gap(first+f.shift-done, start-from), nil
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
		f.skip(1)
	}
}

func (f *flacFrames) fits(h flacHeader) bool {
	return h.channels == int(f.info.NChannels) &&
		(h.rateHz == 0 || h.rateHz == int(f.info.SampleRate)) &&
		(h.bits == 0 || h.bits == int(f.info.BitsPerSample)) &&
		h.blockSize <= int(f.info.BlockSizeMax)
}
