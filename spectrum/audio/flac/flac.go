// Package flac reads FLAC of up to 24 bits, and writes it with 16 bits.
//
// Decoding takes about as long as ffmpeg's (TestFLACSpeed). A damaged frame becomes silence of its length, so that what
// follows stays in its place. Source: RFC 9639.
//
// Of toneplumb it imports package codec only.
package flac

import (
	"errors"
	"fmt"
	"io"

	"github.com/mewkiz/flac/meta"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
)

// Mark is the signature at the start of a FLAC stream.
const Mark = "fLaC"

// maxBits is the largest sample size that is decoded. 32 bits are excluded: their side channel has 33, which an int32
// cannot hold.
const maxBits = 24

// source reads a FLAC file frame by frame. A damaged frame becomes silence of its length, so that what follows
// stays in its place.
type source struct {
	info     *meta.StreamInfo
	frames   *frames
	block    block // the decoded frame that is being returned
	used     int   // how much of block has been returned
	silence  int64 // frames of silence to return before block
	done     int64 // frames returned
	lost     int64 // frames returned as silence
	lostAt   int64 // where the first of them is
	atEnd    bool
	scale    float64
	announce int64
}

// Open opens the FLAC stream that starts with [Mark] at byte start of a file of size bytes. It decodes the first frame,
// to refuse a file without sound. The error is a [*codec.Error] without a path, or that of r.
func Open(r io.ReaderAt, start, size int64) (codec.Decoder, error) {
	info, audioAt, err := metadata(r, start+int64(len(Mark)), size)
	if err != nil {
		return nil, err
	}
	if err := codec.CheckFormat(int64(info.SampleRate), int(info.NChannels)); err != nil {
		return nil, err
	}
	if info.BitsPerSample > maxBits || info.BitsPerSample < 4 {
		return nil, codec.NewError(finding.CannotDecode, fmt.Sprintf("is a FLAC file with %d bits a sample; up to %d can be read", info.BitsPerSample, maxBits), "convert it to 24 bits")
	}
	s := &source{info: info, announce: -1, scale: 1 / float64(int64(1)<<(info.BitsPerSample-1))}
	if info.NSamples > 0 {
		s.announce = int64(info.NSamples)
	}
	s.frames = newFrames(r, audioAt, size, info)
	// The first frame is decoded now, to refuse a file without sound.
	switch err := s.next(); {
	case err == io.EOF:
		return nil, codec.Damaged("is a FLAC file with no sound in it that can be read")
	case err != nil:
		return nil, err
	}
	return s, nil
}

// metadata reads the metadata blocks from pos on. It returns STREAMINFO, which must be the first, and the position after
// the last block. Source: RFC 9639, section 8.
func metadata(r io.ReaderAt, pos, size int64) (*meta.StreamInfo, int64, error) {
	const headLen, infoLen = 4, 34
	damaged := codec.Damaged("is a FLAC file whose header is damaged or cut off")
	var info *meta.StreamInfo
	for {
		var h [headLen]byte
		if pos+headLen > size {
			return nil, 0, damaged
		}
		if err := codec.ReadAt(r, h[:], pos); err != nil {
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

func (s *source) Format() codec.Format {
	return codec.Format{
		Container: "FLAC", Encoding: fmt.Sprintf("%d-bit PCM", s.info.BitsPerSample), RateHz: int(s.info.SampleRate),
		Channels: int(s.info.NChannels), Bits: int(s.info.BitsPerSample), Frames: s.announce,
	}
}

// next loads the next intact frame and the silence that replaces damage before it.
func (s *source) next() error {
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

func (s *source) Read(dst [][]float64) (int, error) {
	total := 0
	for total < len(dst[0]) {
		if s.silence == 0 && s.used == len(s.block[0]) {
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
			n = min(len(dst[0])-total, len(s.block[0])-s.used)
			for ch := range dst {
				out := dst[ch][total : total+n]
				for i, v := range s.block[ch][s.used : s.used+n] {
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

func (s *source) Warnings() []codec.Remark {
	var w []codec.Remark
	rateHz := int(s.info.SampleRate)
	if s.lost > 0 {
		w = append(w, codec.Lost(codec.Silenced, s.lostAt, s.lost, rateHz))
	}
	if !s.atEnd {
		return w
	}
	if s.announce > s.done {
		return append(w, codec.StopsAt(s.done, s.announce, rateHz))
	}
	if s.frames.unreadable && s.announce < 0 {
		w = append(w, codec.At(codec.CutOff, s.done, rateHz))
	}
	return w
}
