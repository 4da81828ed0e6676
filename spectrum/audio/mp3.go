package audio

import (
	"encoding/binary"
	"fmt"
	"io"
)

// Our choice: how far a stream may start from where it should. Encoders' and taggers' padding after a tag can be long.
const (
	mp3Look       = 1 << 16
	mp3LookTagged = 1 << 20
)

// mp3Source reads an MP3 file frame by frame. What cannot be decoded becomes silence of its length.
type mp3Source struct {
	first    mpegHeader
	gapless  gapless
	feed     *mp3Feed
	segments *mp3Segments
	pcm      []byte // one decoded frame: 16-bit, always two channels
	have     []byte // the part of pcm not given out

	pos              int64 // frames decoded, without the information frame
	skip             int64 // frames of delay to leave out at the start
	dropFrom, dropTo int64 // frames of padding to leave out at the end
	announce         int64
	done             int64 // frames given out
	sound            bool  // some frame has decoded
	lost             int64 // frames decoded as silence for damage, after the first sound
	lostAt           int64
	clipped          int64 // samples at full scale
	atEnd            bool
}

// openMP3 opens the MPEG audio stream that starts near start. It returns nil and no error if there is none.
func openMP3(r io.ReaderAt, start, size int64, tagged bool) (decoder, error) {
	end, err := tailTagsAt(r, start, size)
	if err != nil {
		return nil, err
	}
	look := int64(mp3Look)
	if tagged {
		look = mp3LookTagged
	}
	at, first, free, err := findMP3(r, start, end, look)
	if at < 0 || err != nil {
		return nil, err
	}
	if err := refuseMPEG(first, free); err != nil {
		return nil, err
	}
	s := &mp3Source{first: first}
	frames := newMP3Frames(r, at, end, first)
	head := make([]byte, min(int64(first.frameLen()), end-at))
	if err := readAt(r, head, at); err != nil {
		return nil, err
	}
	s.gapless = readInfoFrame(first, head)
	if s.gapless.infoFrame {
		if _, err := frames.next(); err != nil && err != io.EOF {
			return nil, err
		}
	}
	s.plan()
	s.feed = newMP3Feed(frames, first)
	s.segments = &mp3Segments{feed: s.feed}
	// The first frame is decoded now, to refuse a file without sound.
	switch err := s.decode(); {
	case err == io.EOF:
		return nil, problem("is an MP3 file with no sound in it that can be read", hintDamaged)
	case err != nil:
		return nil, err
	}
	return s, nil
}

// refuseMPEG says in clear words which MPEG audio is not read here.
func refuseMPEG(h mpegHeader, free bool) error {
	switch {
	case h.layer != 3:
		return needsTool(fmt.Sprintf("an MPEG layer %s file (MP%d)", [...]string{1: "I", 2: "II"}[h.layer], h.layer))
	case h.version == mpeg25:
		return needsTool(fmt.Sprintf("an MP3 file at %d Hz (the MPEG-2.5 extension for speech)", h.rateHz))
	case free:
		return problem("is an MP3 file in free format (no stated bit rate), which cannot be read", hintConvert)
	}
	return nil
}

// plan works out what to leave out at both ends. The positions are those of the decoder's output, where the sound
// lies decoderDelay later than in the encoder's input.
func (s *mp3Source) plan() {
	g, spf := s.gapless, int64(s.first.samples())
	s.announce = -1
	total := g.frameCount * spf
	if g.delay >= 0 {
		s.skip = int64(g.delay) + decoderDelay
	}
	if g.frameCount <= 0 {
		return
	}
	s.dropFrom, s.dropTo = total, total
	if g.delay >= 0 {
		s.dropFrom -= max(int64(g.padding)-decoderDelay, 0)
	}
	s.announce = max(s.dropFrom-s.skip, 0)
}

func (s *mp3Source) format() Format {
	version := 1
	if s.first.version == mpeg2 {
		version = 2
	}
	const decoderBits = 16
	return Format{
		Container: "MP3", Encoding: fmt.Sprintf("MPEG-%d layer III", version), RateHz: s.first.rateHz,
		Channels: s.first.channels(), Bits: decoderBits, Lossy: true, Frames: s.announce,
	}
}

const mp3FrameBytes = 4 // the library's output: two channels of 16 bits, for mono the same twice

func (s *mp3Source) read(dst [][]float64) (int, error) {
	total := 0
	for total < len(dst[0]) {
		if len(s.have) == 0 {
			if err := s.decode(); err != nil {
				return total, err
			}
			continue
		}
		n := min(len(dst[0])-total, len(s.have)/mp3FrameBytes)
		for ch := range dst {
			s.clipped += unpackMP3(dst[ch][total:total+n], s.have[2*ch:], mp3FrameBytes)
		}
		s.have = s.have[n*mp3FrameBytes:]
		total += n
		s.done += int64(n)
	}
	return total, nil
}

const mp3Full = 32767 // the decoder's full scale

// mp3Sample turns a word of the decoder into a sample. The decoder multiplies by 32767 and cuts off towards zero; half
// a step outwards makes up for the cut on average and keeps silence silent.
func mp3Sample(word int16) float64 {
	x := float64(word)
	switch {
	case word >= mp3Full:
		x = mp3Full
	case word <= -mp3Full:
		x = -mp3Full
	case word > 0:
		x += 0.5
	case word < 0:
		x -= 0.5
	}
	return x * (1.0 / mp3Full)
}

// unpackMP3 turns the decoder's words, stride bytes apart, into samples and counts those at full scale.
func unpackMP3(dst []float64, src []byte, stride int) (clipped int64) {
	j := 0
	for i := range dst {
		word := int16(binary.LittleEndian.Uint16(src[j:]))
		if word >= mp3Full || word <= -mp3Full {
			clipped++
		}
		dst[i] = mp3Sample(word)
		j += stride
	}
	return clipped
}

// decode takes one more decoded frame and leaves in s.have what is to be given out of it, perhaps nothing.
func (s *mp3Source) decode() error {
	pcm, broken, err := s.segments.next()
	if err != nil {
		s.atEnd = err == io.EOF
		return err
	}
	s.pcm = pcm
	if broken {
		if s.sound {
			if s.lost == 0 {
				s.lostAt = s.pos
			}
			s.lost += int64(s.first.samples())
		}
	} else {
		s.sound = true
	}
	s.trim()
	return nil
}

// trim sets s.have to the part of the decoded frame between delay and padding.
func (s *mp3Source) trim() {
	from, to := s.pos, s.pos+int64(s.first.samples())
	s.pos = to
	lo, hi := max(from, s.skip), to
	if from < s.dropTo { // what comes after the announced end, as in joined files, is kept
		hi = min(hi, s.dropFrom)
	}
	if lo >= hi {
		s.have = nil
		return
	}
	s.have = s.pcm[(lo-from)*mp3FrameBytes : (hi-from)*mp3FrameBytes]
}

func (s *mp3Source) warnings() []string {
	var w []string
	rate := float64(s.first.rateHz)
	if s.lost > 0 {
		w = append(w, fmt.Sprintf("the file is damaged, first at %s: %s of sound is replaced by silence", Clock(float64(max(s.lostAt-s.skip, 0))/rate), stretch(float64(s.lost)/rate)))
	}
	if s.clipped > 0 {
		w = append(w, fmt.Sprintf("%d samples reach full scale, where this MP3's decoding ends: its real peaks may be higher", s.clipped))
	}
	if !s.atEnd {
		return w
	}
	spf := int64(s.first.samples())
	missing := s.announce >= 0 && s.pos < s.gapless.frameCount*spf
	switch {
	case s.feed.frames.changed:
		w = append(w, fmt.Sprintf("the file goes on at another sample rate or channel count after %s: that part is left out", Clock(float64(s.done)/rate)))
	case missing && s.feed.gaps > 0:
		w = append(w, fmt.Sprintf("the file is damaged in %s: %s of %s is missing", places(s.feed.gaps), stretch(float64(s.announce-s.done)/rate), Clock(float64(s.announce)/rate)))
	case missing:
		w = append(w, stopsAt(s.done, s.announce, s.first.rateHz))
	case s.feed.gaps > 0:
		w = append(w, fmt.Sprintf("the file is damaged in %s: some sound is missing there", places(s.feed.gaps)))
	case s.feed.cutOff:
		w = append(w, fmt.Sprintf("the file is cut off in the middle of a frame at %s: the rest of the recording is missing", Clock(float64(s.done)/rate)))
	}
	return w
}
