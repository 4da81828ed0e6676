package audio

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"

	"github.com/go-audio/riff"
	"github.com/go-audio/wav"
)

// wavBufferLen is the bytes read from a WAV file at a time. Our choice: large enough that system calls do not count.
const wavBufferLen = 1 << 18

// pcmSource reads plain samples, those of a WAV file or another that holds them.
type pcmSource struct {
	layout
	container string
	turn      func(b []byte) // makes whole frames those of a WAV file, in place; nil if they are
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

// openWAV opens a RIFF, RIFX, RF64 or BW64 file of size bytes.
func openWAV(r io.ReaderAt, size int64) (decoder, error) {
	found, err := walkRIFF(r, size)
	if err != nil {
		return nil, err
	}
	if found.format == nil {
		return nil, problem("is a WAV file without a description of its sound (no fmt chunk)", hintDamaged)
	}
	l, err := parseLayout(found.format, found.order)
	if err != nil {
		return nil, err
	}
	if !found.hasData || found.dataLen < int64(l.align) {
		return nil, problem("is a WAV file with no sound in it", "export the recording again")
	}
	announced := found.declaredLen
	if announced < 0 {
		announced = found.dataLen
	}
	s := &pcmSource{layout: l, container: "WAV", announce: announced / int64(l.align), more: found.more}
	if found.order == binary.BigEndian {
		s.turn = func(b []byte) { reverseBytes(b, l.width) }
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

func (s *pcmSource) allocate() { s.buf = make([]byte, max(wavBufferLen/s.align, 1)*s.align) }

func (s *pcmSource) format() Format {
	f := Format{Container: s.container, Encoding: s.encoding(), RateHz: s.rateHz, Channels: s.channels, Bits: s.bits, Frames: s.announce}
	if s.float {
		f.Bits = 0
	}
	return f
}

func (s *pcmSource) read(dst [][]float64) (int, error) {
	total := 0
	for total < len(dst[0]) {
		if len(s.have) == 0 {
			if err := s.fill(); err != nil {
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

// fill reads the next whole frames into the buffer.
func (s *pcmSource) fill() error {
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
	if s.turn != nil {
		s.turn(s.have)
	}
	if len(s.have) == 0 {
		return io.EOF
	}
	return nil
}

func (s *pcmSource) warnings() []string {
	var w []string
	if s.ended && s.done < s.announce {
		w = append(w, stopsAt(s.done, s.announce, s.rateHz))
	}
	if s.bad > 0 {
		w = append(w, badSamples(s.bad))
	}
	if s.ended && s.more {
		w = append(w, onlyFirst(s.done, s.rateHz))
	}
	return w
}

// onlyFirst says that a file holds more than the frames that were read.
func onlyFirst(frames int64, rateHz int) string {
	return fmt.Sprintf("the file holds several recordings one after the other: only the first, %s long, is read", stretch(float64(frames)/float64(rateHz)))
}

func badSamples(n int64) string {
	return fmt.Sprintf("%d samples are not numbers or absurdly large: they are taken as silence", n)
}
