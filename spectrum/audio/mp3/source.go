package mp3

import (
	"fmt"
	"io"
	"math"

	"toneplumb/spectrum/audio/codec"
)

// How many bytes after its expected place a stream may start. Our choice: the padding that encoders and taggers leave
// after a tag can be long.
const (
	look       = 1 << 16
	lookTagged = 1 << 20
)

// source reads an MP3 file frame by frame. Frames that cannot be decoded become silence of their length.
type source struct {
	first    Header
	gapless  gapless
	segments *segments
	sound    *Block  // one decoded frame
	from, to int     // the part of it still to be returned
	steps    float64 // if the second decoder is used: its difference at the start, in steps of 16 bits

	// Counted in samples per channel:
	pos              int64 // decoded, without the information frame
	skip             int64 // delay to leave out at the start
	dropFrom, dropTo int64 // padding to leave out at the end
	announce         int64
	done             int64 // returned
	heard            bool  // whether any frame has decoded
	lost             int64 // silence because of damage, after the first sound
	lostAt           int64
	atEnd            bool
}

// Open opens the MPEG audio stream that starts near byte start of a file of size bytes; tagged says that start is after
// an ID3v2 tag. It returns nil and no error if there is no stream. The error is a [*codec.Error] without a path, or that
// of r.
func Open(r io.ReaderAt, start, size int64, tagged bool) (codec.Decoder, error) {
	end, err := tailTagsAt(r, start, size)
	if err != nil {
		return nil, err
	}
	look := int64(look)
	if tagged {
		look = lookTagged
	}
	at, first, err := find(r, start, end, look)
	if at < 0 || err != nil {
		return nil, err
	}
	if first.Layer != 3 {
		return nil, codec.NeedsTool(fmt.Sprintf("an MPEG layer %s file (MP%d)", [...]string{1: "I", 2: "II"}[first.Layer], first.Layer))
	}
	s := &source{first: first}
	frames := newFrames(r, at, end, first)
	head := make([]byte, min(int64(first.FrameLen()), end-at))
	if err := codec.ReadAt(r, head, at); err != nil {
		return nil, err
	}
	s.gapless = readInfoFrame(first, head)
	if s.gapless.infoFrame {
		if _, err := frames.next(); err != nil && err != io.EOF {
			return nil, err
		}
	}
	s.plan()
	s.segments = &segments{frames: frames, decoder: func() frameDecoder { return new(Decoder) }}
	if err := s.open(); err != nil {
		return nil, err
	}
	return s, nil
}

// open decodes the first segment, to refuse a file without sound and to see whether the second decoder agrees.
func (s *source) open() error {
	g := s.segments.open()
	switch {
	case g == nil && s.segments.ended != io.EOF:
		return s.segments.ended
	case g == nil || len(g.sound) == 0:
		return codec.Damaged("is an MP3 file with no sound in it that can be read")
	case !secondReads(s.first):
		return nil
	}
	if steps := g.secondDiffers(); steps > agreement {
		s.steps = steps
		s.segments.decoder = func() frameDecoder { return new(second) }
		g.decode(s.segments.decoder())
	}
	return nil
}

// plan determines what to leave out at both ends. Positions are those of the decoder's output, in which the sound is
// decoderDelay later than in the encoder's input.
func (s *source) plan() {
	g, spf := s.gapless, int64(s.first.Samples())
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

func (s *source) Format() codec.Format {
	version := [...]string{MPEG1: "1", MPEG2: "2", MPEG25: "2.5"}[s.first.Version]
	return codec.Format{
		Container: "MP3", Encoding: fmt.Sprintf("MPEG-%s layer III", version), RateHz: s.first.RateHz,
		Channels: s.first.Channels(), Lossy: true, Frames: s.announce,
	}
}

func (s *source) Read(dst [][]float64) (int, error) {
	total := 0
	for total < len(dst[0]) {
		if s.from == s.to {
			if err := s.decode(); err != nil {
				return total, err
			}
			continue
		}
		n := min(len(dst[0])-total, s.to-s.from)
		for ch := range dst {
			for i, x := range s.sound[ch][s.from : s.from+n] {
				dst[ch][total+i] = float64(x)
			}
		}
		s.from += n
		total += n
		s.done += int64(n)
	}
	return total, nil
}

// decode takes the next decoded frame and sets the part of it that is to be returned, which may be empty.
func (s *source) decode() error {
	sound, broken, err := s.segments.next()
	if err != nil {
		s.atEnd = err == io.EOF
		return err
	}
	s.sound = sound
	if !broken {
		s.heard = true
	} else if s.heard {
		if s.lost == 0 {
			s.lostAt = s.pos
		}
		s.lost += int64(s.first.Samples())
	}
	s.trim()
	return nil
}

// trim sets from and to to the part of the decoded frame between delay and padding.
func (s *source) trim() {
	from, to := s.pos, s.pos+int64(s.first.Samples())
	s.pos = to
	lo, hi := max(from, s.skip), to
	if from < s.dropTo { // frames after the announced end, as in joined files, are kept
		hi = min(hi, s.dropFrom)
	}
	s.from, s.to = 0, 0
	if lo < hi {
		s.from, s.to = int(lo-from), int(hi-from)
	}
}

func (s *source) Warnings() []codec.Remark {
	var w []codec.Remark
	rateHz, gaps := s.first.RateHz, s.segments.frames.gaps
	if s.lost > 0 {
		w = append(w, codec.Lost(codec.Silenced, max(s.lostAt-s.skip, 0), s.lost, rateHz))
	}
	if s.steps > 0 {
		w = append(w, codec.Remark{Kind: codec.DecodersDiffer, Count: int64(math.Round(s.steps))})
	}
	if !s.atEnd {
		return w
	}
	missing := s.announce >= 0 && s.pos < s.gapless.frameCount*int64(s.first.Samples())
	switch {
	case s.segments.frames.changed:
		w = append(w, codec.At(codec.FormatChanges, s.done, rateHz))
	case missing && gaps > 0:
		w = append(w, codec.MissingIn(gaps, s.done, s.announce, rateHz))
	case missing:
		w = append(w, codec.StopsAt(s.done, s.announce, rateHz))
	case gaps > 0:
		w = append(w, codec.MissingIn(gaps, s.done, -1, rateHz))
	case s.segments.cutOff:
		w = append(w, codec.At(codec.CutOff, s.done, rateHz))
	}
	return w
}
