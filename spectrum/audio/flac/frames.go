package flac

import (
	"bufio"
	"io"

	"github.com/mewkiz/flac/meta"
)

// frames finds and decodes the frames of a FLAC stream one after the other, and resynchronises after damage.
type frames struct {
	pos, end   int64 // next byte to read, end of the file
	buf        *bufio.Reader
	info       *meta.StreamInfo
	shift      int64 // position of the stream's sample number 0 in the output
	started    bool
	unreadable bool  // whether bytes at the end are no frame
	wasted     int64 // bytes and samples of frames that did not decode
	wasteMax   int64
	block      block // the last frame
}

// bufferLen is the number of bytes read from a FLAC file at a time; a frame of CD sound takes about 10 000.
const bufferLen = 1 << 17

// wasteMax plus the file's size bounds the work on bytes that are no frame: in a hostile file such a "frame" may begin at
// every few bytes and run for a megabyte each time. Our choice: 64 MB; in CD sound that is more than a thousand damaged
// frames, about two minutes.
const wasteMax = 64 << 20

func newFrames(r io.ReaderAt, pos, end int64, info *meta.StreamInfo) *frames {
	f := &frames{pos: pos, end: end, info: info, wasteMax: wasteMax + end - pos}
	// Twice the longest frame, so that looking ahead after each byte seldom moves the buffer's content.
	size := max(bufferLen, 2*frameMax(int(info.BlockSizeMax), int(info.NChannels)))
	f.buf = bufio.NewReaderSize(io.NewSectionReader(r, pos, end-pos), size)
	return f
}

// frameMax returns the largest length of a frame in bytes. Our choice: 40 bits a sample and some for headers; it keeps a
// broken frame from running through the file.
func frameMax(blockSize, channels int) int { return headerMax + 5*blockSize*channels + 1<<10 }

func (f *frames) discard(n int64) {
	f.buf.Discard(int(n))
	f.pos += n
}

// next returns the next frame that decodes, and how many frames of silence replace damage before it. done is the number
// of frames returned so far. The block is valid until the next call. At the end next returns io.EOF.
func (f *frames) next(done int64) (block, int64, error) {
	from := f.pos
	for {
		if f.wasted > f.wasteMax {
			f.unreadable = true
			return nil, 0, io.EOF
		}
		h, err := f.findHeader()
		if err != nil {
			f.unreadable = f.end > from
			return nil, 0, err
		}
		start := f.pos
		raw, _ := f.buf.Peek(frameMax(h.blockSize, h.channels))
		length, err := decodeFrame(raw, h, int(f.info.BitsPerSample), &f.block)
		if err != nil {
			// Nothing of a broken frame can be trusted, its length included.
			f.wasted += int64(length) + int64(h.blockSize*h.channels)
			f.discard(1)
			continue
		}
		f.discard(int64(length))
		first := f.firstSample(h)
		if start == from {
			if !f.started {
				f.shift = -first // a stream that was cut out of a longer one need not start at sample 0
			}
			f.started = true
			return f.block, 0, nil
		}
		f.started = true
		return f.block, f.gap(first+f.shift-done, start-from), nil
	}
}

// gap returns the number of missing samples if it is plausible for the bytes that were skipped, else 0: a header's
// checksum misses one damaged number in 256. Our choice of limit: a frame has at least ten bytes.
func (f *frames) gap(missing, skipped int64) int64 {
	const minFrameLen = 10
	most := (skipped/minFrameLen + 1) * int64(f.info.BlockSizeMax)
	if missing < 0 || missing > most {
		return 0
	}
	return missing
}

func (f *frames) firstSample(h header) int64 {
	if h.variable {
		return int64(h.number)
	}
	return int64(h.number) * int64(f.info.BlockSizeMax)
}

// findHeader moves to the next frame header that fits the stream and returns it. At the end it returns io.EOF.
func (f *frames) findHeader() (header, error) {
	for {
		b, err := f.buf.Peek(headerMax)
		if len(b) == 0 {
			if err == nil || err == bufio.ErrBufferFull {
				err = io.EOF
			}
			return header{}, err
		}
		if b[0] == 0xFF {
			if h, ok := parseHeader(b); ok && f.fits(h) {
				return h, nil
			}
		}
		f.discard(1)
	}
}

func (f *frames) fits(h header) bool {
	return h.channels == int(f.info.NChannels) &&
		(h.rateHz == 0 || h.rateHz == int(f.info.SampleRate)) &&
		(h.bits == 0 || h.bits == int(f.info.BitsPerSample)) &&
		h.blockSize <= int(f.info.BlockSizeMax)
}
