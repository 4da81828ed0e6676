// Package pcm reads plain samples: WAV (RIFF, RIFX, RF64, BW64), AIFF and AIFF-C, and the floats that another program
// writes into a pipe. It writes WAV.
//
// Chunks are read here, with every size checked against the file's, and samples are unpacked here. The WAV library gets a
// canonical header, since it misreads float, odd sizes and hostile chunks.
//
// Of toneplumb it imports package codec only.
package pcm

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"

	"github.com/go-audio/riff"
	"github.com/go-audio/wav"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
)

// wavBufferLen is the number of bytes read from a file at a time. Our choice: large enough that the time for system
// calls does not matter.
const wavBufferLen = 1 << 18

// Source reads plain samples from a WAV or AIFF file or a stream of floats. It implements [codec.Decoder].
type Source struct {
	layout
	container string
	toLE      func(b []byte) // converts whole frames in place to those of a WAV file; nil if they already are
	unpack    unpacker
	announce  int64 // frames
	body      io.Reader
	buf       []byte
	have      []byte // the unread part of buf
	done      int64  // frames returned
	bad       int64  // samples that were not numbers or too large
	ended     bool
	more      bool // whether the file holds more sound, which is not read
}

// OpenWAV opens a RIFF, RIFX, RF64 or BW64 file of size bytes. The error is a [*codec.Error] without a path, or that of r.
func OpenWAV(r io.ReaderAt, size int64) (codec.Decoder, error) {
	found, err := walkRIFF(r, size)
	if err != nil {
		return nil, err
	}
	if found.format == nil {
		return nil, codec.Damaged("is a WAV file without a description of its sound (no fmt chunk)")
	}
	l, err := parseLayout(found.format, found.order)
	if err != nil {
		return nil, err
	}
	if !found.hasData || found.dataLen < int64(l.align) {
		return nil, codec.NewError(finding.NoSound, "is a WAV file with no sound in it", "export the recording again")
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

// pcmReader has the WAV library read a canonical header and then sets its chunk reader to the real data, since the
// library itself fails on RF64, open-ended sizes and oversized chunks.
func pcmReader(r io.ReaderAt, l layout, dataAt, dataLen int64) (io.Reader, error) {
	d := wav.NewDecoder(bytes.NewReader(l.canonical()))
	d.ReadInfo()
	if err := d.Err(); err != nil {
		return nil, fmt.Errorf("wav header: %w", err)
	}
	d.PCMChunk = &riff.Chunk{ID: riff.DataFormatID, Size: int(dataLen), R: io.NewSectionReader(r, dataAt, dataLen)}
	return d.PCMChunk.R, nil
}

// NewFloats returns a source of interleaved little-endian 32-bit floats from r, such as another program writes into a
// pipe. announced is the expected number of frames, -1 if unknown.
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

// Fill reads the next whole frames into the buffer. Call it before the first Read to find out whether there are any; at
// the end it returns io.EOF.
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

// Done returns the number of frames that Read has returned.
func (s *Source) Done() int64 { return s.done }

// Bad returns how many samples were not numbers or beyond [codec.MaxSample].
func (s *Source) Bad() int64 { return s.bad }

// Short reports whether the sound ended more than slack frames before its announced end.
func (s *Source) Short(slack int64) bool { return s.ended && s.announce > s.done+slack }

// Warnings implements [codec.Decoder].
func (s *Source) Warnings() []codec.Remark {
	var w []codec.Remark
	if s.Short(0) {
		w = append(w, codec.StopsAt(s.done, s.announce, s.rateHz))
	}
	if s.bad > 0 {
		w = append(w, codec.Remark{Kind: codec.BadSamples, Count: s.bad})
	}
	if s.ended && s.more {
		w = append(w, codec.At(codec.OnlyFirst, s.done, s.rateHz))
	}
	return w
}
