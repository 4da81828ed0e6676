// Package ogg reads Vorbis and Opus in Ogg. Of several streams in a file only the first is read.
//
// Pages and their checksums are read here; libraries decode the packets. The position in a page's header shows how much
// sound was lost to damage before it; silence of that length replaces it. Sources: RFC 3533, RFC 7845, Vorbis I
// specification.
//
// Of toneplumb it imports package codec only.
package ogg

import (
	"io"
	"math"

	"toneplumb/spectrum/audio/codec"
)

// streamDecoder decodes the packets of one stream in an Ogg file.
type streamDecoder interface {
	// header takes the packets at the start, one per call, until it reports that it is done.
	header(packet []byte) (done bool, err error)
	// format describes the stream once header is done, without Frames.
	format() codec.Format
	// maxFrames returns the largest number of frames in one packet.
	maxFrames() int
	// decode writes the interleaved frames of a packet to dst, which must have room for maxFrames() frames, and returns their
	// number.
	decode(dst []float32, packet []byte) (frames int, err error)
	// restart clears the decoder's state after missing packets.
	restart()
	// skip returns the number of frames at the start that are not sound.
	skip() int64
}

// Source reads one stream of an Ogg file page by page. The position in a page's header shows how much sound was lost to
// damage before it; silence of that length replaces it.
type Source struct {
	decoder  streamDecoder
	channels int
	rateHz   int
	announce int64
	pages    *pages
	held     *page // read ahead
	serial   uint32
	number   uint32    // of the last page
	others   int       // other streams with sound
	packet   []byte    // the part of a packet that earlier pages held
	long     bool      // whether the packet is too long to be sound; only its start is kept
	block    []float32 // decoded frames of the page, interleaved
	frames   int       // in block
	used     int       // frames of block already returned
	fillAt   int       // frame of block at which the damage was
	fill     int64     // frames of silence to return there
	skip     int64     // frames to leave out at the start
	end      int64     // position of the page's end; -1 before the first
	done     int64     // frames returned
	lost     int64     // frames of silence because of damage
	lostAt   int64
	missing  int64 // frames that are missing and not replaced
	headless bool  // whether pages are missing before the first with sound
	bad      int64 // samples that were not numbers or too large
	ended    bool  // whether the stream's end mark was read
	chained  bool  // whether another stream follows
	atEnd    bool
	opus     opusPackets // set for Opus only
}

const (
	// packetMax is the longest packet kept, in bytes. Our choice: setup headers of Vorbis have some kilobytes, packets of
	// sound less than 64; a comment with a picture may be longer and is not needed.
	packetMax = 1 << 18
	// The most missing sound that is replaced by silence, at one place and in total. Our choice.
	fillMaxSec      = 60
	fillTotalMaxSec = 600
)

// load decodes the next page of the stream.
func (s *Source) load() error {
	page, err := s.nextPage()
	if err != nil {
		s.atEnd = err == io.EOF
		return err
	}
	s.frames, s.used, s.fill, s.fillAt = 0, 0, 0, 0
	broken := false
	breaks := func() {
		if !broken {
			broken, s.fillAt = true, s.frames
		}
		s.decoder.restart()
	}
	if page.number != s.number+1 {
		s.packet, s.long = s.packet[:0], false
		breaks()
	} else if page.continued != (len(s.packet) > 0) && s.end >= 0 {
		breaks()
	}
	s.number = page.number
	most := s.decoder.maxFrames()
	if need := page.packets() * most * s.channels; len(s.block) < need {
		s.block = nil
		s.block = make([]float32, need)
	}
	s.eachPacket(page, func(packet []byte) error {
		n, err := 0, error(nil)
		if !s.long {
			n, err = s.decoder.decode(s.block[s.frames*s.channels:][:most*s.channels], packet)
		}
		if err != nil || s.long {
			breaks()
			return nil
		}
		s.frames += n
		return nil
	})
	s.reconcile(page, broken)
	s.ended = page.last
	return nil
}

// reconcile compares the number of decoded frames with the page's position, and drops frames at the stream's end or plans
// silence after damage.
func (s *Source) reconcile(page page, broken bool) {
	n := int64(s.frames)
	if page.granule < 0 || page.packets() == 0 {
		if s.end >= 0 {
			s.end += n
		}
		return
	}
	begin := s.end
	if begin < 0 {
		if n == 0 && !page.last {
			return // Vorbis: the first packet decodes to nothing
		}
		// A stream that was cut out of a longer one starts after position 0. One whose start was trimmed starts before it.
		begin = max(page.granule-n, 0)
		s.headless = broken
		if page.granule < n && !page.last {
			s.skip += n - page.granule
			begin = page.granule - n
		}
	}
	want := page.granule - begin
	s.end = page.granule
	switch {
	case want < n && page.last:
		s.frames = int(max(want, 0))
		s.fillAt = min(s.fillAt, s.frames)
	case want > n && broken:
		s.fill = want - n
		if limit := int64(s.rateHz); s.fill > fillMaxSec*limit || s.lost+s.fill > fillTotalMaxSec*limit {
			s.missing += s.fill
			s.fill = 0
			return
		}
		if s.lost == 0 {
			s.lostAt = s.done + int64(s.fillAt)
		}
		s.lost += s.fill
	}
}

func (s *Source) Format() codec.Format {
	f := s.decoder.format()
	f.Frames = s.announce
	return f
}

func (s *Source) Read(dst [][]float64) (int, error) {
	total := 0
	for total < len(dst[0]) {
		room := len(dst[0]) - total
		var n int
		switch {
		case s.fill > 0 && s.used >= s.fillAt:
			n = int(min(s.fill, int64(room)))
			for ch := range dst {
				clear(dst[ch][total : total+n])
			}
			s.fill -= int64(n)
		case s.used < s.frames:
			n = min(room, s.frames-s.used)
			if s.fill > 0 {
				n = min(n, s.fillAt-s.used)
			}
			s.unpack(dst, total, n)
			s.used += n
		default:
			if err := s.load(); err != nil {
				return total, err
			}
			continue
		}
		if s.skip > 0 {
			over := int(min(s.skip, int64(n)))
			for ch := range dst {
				copy(dst[ch][total:], dst[ch][total+over:total+n])
			}
			s.skip -= int64(over)
			n -= over
		}
		total += n
		s.done += int64(n)
	}
	return total, nil
}

// unpack copies n frames of the block to dst from frame at on.
func (s *Source) unpack(dst [][]float64, at, n int) {
	for ch := range dst {
		out := dst[ch][at : at+n]
		j := s.used*s.channels + ch
		for i := range out {
			x := float64(s.block[j])
			if !(math.Abs(x) <= codec.MaxSample) { // catches NaN too
				x = 0
				s.bad++
			}
			out[i] = x
			j += s.channels
		}
	}
}

func (s *Source) Warnings() []codec.Remark {
	var w []codec.Remark
	switch {
	case s.opus.speech && s.opus.whole:
		w = append(w, codec.Remark{Kind: codec.Speech})
	case s.opus.speech:
		w = append(w, codec.Remark{Kind: codec.SpeechDamaged})
	}
	if s.others > 0 {
		w = append(w, codec.Remark{Kind: codec.SideBySide, Count: int64(s.others) + 1})
	}
	if s.headless {
		w = append(w, codec.Remark{Kind: codec.NoStart})
	}
	if s.lost > 0 {
		w = append(w, codec.Lost(codec.Silenced, s.lostAt, s.lost, s.rateHz))
	}
	if s.missing > 0 {
		w = append(w, codec.Lost(codec.SoundMissing, 0, s.missing, s.rateHz))
	}
	if s.bad > 0 {
		w = append(w, codec.Remark{Kind: codec.BadSamples, Count: s.bad})
	}
	if !s.atEnd {
		return w
	}
	switch {
	case s.chained:
		w = append(w, codec.At(codec.OnlyFirst, s.done, s.rateHz))
	case s.announce > s.done && s.missing == 0:
		w = append(w, codec.StopsAt(s.done, s.announce, s.rateHz))
	case !s.ended && s.pages.unreadable:
		w = append(w, codec.At(codec.CutOff, s.done, s.rateHz))
	case !s.ended:
		w = append(w, codec.At(codec.NoEndMark, s.done, s.rateHz))
	}
	return w
}
