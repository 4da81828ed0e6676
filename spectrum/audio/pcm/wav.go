package pcm

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"

	"github.com/go-audio/riff"
	"github.com/go-audio/wav"

	"toneplumb/spectrum/audio/codec"
)

// wavBufferLen is the bytes read from a WAV file at a time. Our choice: large enough that system calls do not count.
const wavBufferLen = 1 << 18

// Source reads plain samples, those of a WAV file or another that holds them.
type Source struct {
	layout
	container string
	toLE      func(b []byte) // makes whole frames those of a WAV file, in place; nil if they are
	unpack    unpacker
	announce  int64 // frames
	body      io.Reader
	buf       []byte
	have      []byte // the unread part of buf
	done      int64  // frames given out
	bad       int64  // samples that were no numbers
	ended     bool
	more      bool // the file holds more sound, which is not read
}

// OpenWAV opens a RIFF, RIFX, RF64 or BW64 file of size bytes.
func OpenWAV(r io.ReaderAt, size int64) (codec.Decoder, error) {
	found, err := walkRIFF(r, size)
	if err != nil {
		return nil, err
	}
	if found.format == nil {
		return nil, codec.NewError("is a WAV file without a description of its sound (no fmt chunk)", codec.HintDamaged)
	}
	l, err := parseLayout(found.format, found.order)
	if err != nil {
		return nil, err
	}
	if !found.hasData || found.dataLen < int64(l.align) {
		return nil, codec.NewError("is a WAV file with no sound in it", "export the recording again")
	}
	announced := found.declaredLen
	if announced < 0 {
		announced = found.dataLen
	}
	s := &Source{layout: l, container: "WAV", announce: announced / int64(l.align), more: found.more}
	if found.order == binary.BigEndian {
		s.toLE = func(b []byte) { reverseBytes(b, l.width) }
	}
	if s.unpack, err = chooseUnpacker(r, l, found.dataAt, found.dataLen, found.order); err != nil {
		return nil, err
	}
	if s.body, err = pcmReader(r, l, found.dataAt, found.dataLen); err != nil {
		return nil, err
	}
	s.allocate()
	return s, nil
}

// pcmReader lets the WAV library read a canonical header and puts its chunk reader over the real data, since its own
// walk fails on RF64, open-ended sizes and oversized chunks.
func pcmReader(r io.ReaderAt, l layout, dataAt, dataLen int64) (io.Reader, error) {
	d := wav.NewDecoder(bytes.NewReader(l.canonical()))
	d.ReadInfo()
	if err := d.Err(); err != nil {
		return nil, fmt.Errorf("wav header: %w", err)
	}
	d.PCMChunk = &riff.Chunk{ID: riff.DataFormatID, Size: int(dataLen), R: io.NewSectionReader(r, dataAt, dataLen)}
	return d.PCMChunk.R, nil
}

// NewFloats returns a source of little-endian 32-bit floats from r, interleaved, such as a program writes them into a pipe.
// It announces so many frames, -1 for unknown.
func NewFloats(r io.Reader, rateHz, channels int, announced int64) *Source {
	const bits = 32
	s := &Source{
		layout:    layout{rateHz: rateHz, channels: channels, float: true, width: bits / 8, align: bits / 8 * channels, bits: bits},
		container: "floats", announce: announced, unpack: unpackFloat32, body: r,
	}
	s.allocate()
	return s
}

func (s *Source) allocate() { s.buf = make([]byte, max(wavBufferLen/s.align, 1)*s.align) }

// Format implements [codec.Decoder].
func (s *Source) Format() codec.Format {
	f := codec.Format{Container: s.container, Encoding: s.encoding(), RateHz: s.rateHz, Channels: s.channels, Bits: s.bits, Frames: s.announce}
	if s.float {
		f.Bits = 0
	}
	return f
}

// Read implements [codec.Decoder].
func (s *Source) Read(dst [][]float64) (int, error) {
	total := 0
	for total < len(dst[0]) {
		if len(s.have) == 0 {
			if err := s.Fill(); err != nil {
				s.done += int64(total)
				return total, err
			}
		}
		n := min(len(dst[0])-total, len(s.have)/s.align)
		for ch := range dst {
			s.bad += s.unpack(dst[ch][total:total+n], s.have[ch*s.width:], s.align)
		}
		s.have = s.have[n*s.align:]
		total += n
	}
	s.done += int64(total)
	return total, nil
}

// Fill reads the next whole frames into the buffer, before the first Read to learn whether there are any; io.EOF at the end.
func (s *Source) Fill() error {
	if s.ended {
		return io.EOF
	}
	n, err := io.ReadFull(s.body, s.buf)
	if err == io.ErrUnexpectedEOF || err == io.EOF {
		s.ended = true
		err = nil
	}
	if err != nil {
		return err
	}
	s.have = s.buf[:n-n%s.align]
	if s.toLE != nil {
		s.toLE(s.have)
	}
	if len(s.have) == 0 {
		return io.EOF
	}
	return nil
}

// Done returns the frames given out.
func (s *Source) Done() int64 { return s.done }

// Bad returns how many samples were no numbers or beyond [codec.MaxSample].
func (s *Source) Bad() int64 { return s.bad }

// Short reports whether the sound ended more than slack frames before its announced end.
func (s *Source) Short(slack int64) bool { return s.ended && s.announce > s.done+slack }

// Warnings implements [codec.Decoder].
func (s *Source) Warnings() []string {
	var w []string
	if s.Short(0) {
		w = append(w, codec.StopsAt(s.done, s.announce, s.rateHz))
	}
	if s.bad > 0 {
		w = append(w, codec.BadSamples(s.bad))
	}
	if s.ended && s.more {
		w = append(w, codec.OnlyFirst(s.done, s.rateHz))
	}
	return w
}
