package audio

import (
	"errors"
	"fmt"
	"io"

	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"
)

const flacMark = "fLaC"

// maxFLACBits is the longest word the library decodes: its 32-bit arithmetic cannot hold a difference channel of 33 bits.
const maxFLACBits = 24

// flacSource reads a FLAC file frame by frame. A damaged frame becomes silence of its length, so that what follows
// stays in its place.
type flacSource struct {
	info     *meta.StreamInfo
	frames   *flacFrames
	block    *frame.Frame // the frame being given out
	used     int          // frames of block already given out
	silence  int64        // frames of silence to give out before block
	done     int64        // frames given out
	lost     int64        // frames given out as silence
	lostAt   int64        // where the first of them is
	atEnd    bool
	scale    float64
	announce int64
}

// openFLAC opens the FLAC stream that starts at start.
func openFLAC(r io.ReaderAt, start, size int64) (decoder, error) {
	info, audioAt, err := flacMetadata(r, start+int64(len(flacMark)), size)
	if err != nil {
		return nil, err
	}
	if err := checkFormat(int64(info.SampleRate), int(info.NChannels)); err != nil {
		return nil, err
	}
	if info.BitsPerSample > maxFLACBits || info.BitsPerSample < 4 {
		return nil, problem(fmt.Sprintf("is a FLAC file with %d bits a sample; up to %d can be read", info.BitsPerSample, maxFLACBits), "convert it to 24 bits")
	}
	s := &flacSource{info: info, announce: -1, scale: 1 / float64(int64(1)<<(info.BitsPerSample-1))}
	if info.NSamples > 0 {
		s.announce = int64(info.NSamples)
	}
	s.frames = newFLACFrames(r, audioAt, size, info)
	// The first frame is decoded now, to refuse a file without sound.
	switch err := s.next(); {
	case err == io.EOF:
		return nil, problem("is a FLAC file with no sound in it that can be read", hintDamaged)
	case err != nil:
		return nil, err
	}
	return s, nil
}

// flacMetadata reads STREAMINFO, which must come first, and steps over all other metadata blocks, from pos on.
// Source: RFC 9639, section 8.
func flacMetadata(r io.ReaderAt, pos, size int64) (*meta.StreamInfo, int64, error) {
	const headLen, infoLen = 4, 34
	damaged := problem("is a FLAC file whose header is damaged or cut off", hintDamaged)
	var info *meta.StreamInfo
	for {
		var h [headLen]byte
		if pos+headLen > size {
			return nil, 0, damaged
		}
		if err := readAt(r, h[:], pos); err != nil {
			return nil, 0, err
		}
		length := int64(h[1])<<16 | int64(h[2])<<8 | int64(h[3])
		if info == nil {
			if h[0]&0x7F != 0 || length < infoLen || pos+headLen+length > size {
				return nil, 0, damaged
			}
			block, err := meta.Parse(io.NewSectionReader(r, pos, headLen+length))
			if err != nil {
				return nil, 0, damaged
			}
			info = block.Body.(*meta.StreamInfo)
		}
		pos += headLen + length
		if h[0]&0x80 != 0 {
			return info, min(pos, size), nil
		}
	}
}

func (s *flacSource) format() Format {
	return Format{
		Container: "FLAC", Encoding: fmt.Sprintf("%d-bit PCM", s.info.BitsPerSample), RateHz: int(s.info.SampleRate),
		Channels: int(s.info.NChannels), Bits: int(s.info.BitsPerSample), Frames: s.announce,
	}
}

// next loads the next whole frame and the silence that stands for damage before it.
func (s *flacSource) next() error {
	f, silence, err := s.frames.next(s.done)
	if err != nil {
		s.atEnd = errors.Is(err, io.EOF)
		return err
	}
	if silence > 0 {
		if s.lost == 0 {
			s.lostAt = s.done
		}
		s.lost += silence
	}
	s.block, s.used, s.silence = f, 0, silence
	return nil
}

func (s *flacSource) read(dst [][]float64) (int, error) {
	total := 0
	for total < len(dst[0]) {
		if s.silence == 0 && s.used == int(s.block.BlockSize) {
			if err := s.next(); err != nil {
				return total, err
			}
		}
		var n int
		if s.silence > 0 {
			n = int(min(s.silence, int64(len(dst[0])-total)))
			for ch := range dst {
				clear(dst[ch][total : total+n])
			}
			s.silence -= int64(n)
		} else {
			n = min(len(dst[0])-total, int(s.block.BlockSize)-s.used)
			for ch := range dst {
				out := dst[ch][total : total+n]
				for i, v := range s.block.Subframes[ch].Samples[s.used : s.used+n] {
					out[i] = float64(v) * s.scale
				}
			}
			s.used += n
		}
		total += n
		s.done += int64(n)
	}
	return total, nil
}

func (s *flacSource) warnings() []string {
	var w []string
	rate := float64(s.info.SampleRate)
	if s.lost > 0 {
		w = append(w, fmt.Sprintf("the file is damaged, first at %s: %s of sound is replaced by silence", Clock(float64(s.lostAt)/rate), stretch(float64(s.lost)/rate)))
	}
	if !s.atEnd {
		return w
	}
	if s.announce > s.done {
		return append(w, stopsAt(s.done, s.announce, int(s.info.SampleRate)))
	}
	if s.frames.unreadable && s.announce < 0 {
		w = append(w, fmt.Sprintf("the file is cut off or damaged after %s", Clock(float64(s.done)/rate)))
	}
	return w
}
