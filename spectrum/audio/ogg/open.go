package ogg

import (
	"io"

	"toneplumb/spectrum/audio/codec"
)

// kinds are the kinds of streams with sound, by the start of their first packet. Sources: Vorbis I specification, section
// 4.2.1; RFC 7845, section 5.1; the others from memory.
var kinds = []struct {
	mark, name string
	decoder    func() streamDecoder
}{
	{"\x01vorbis", "an Ogg Vorbis file", func() streamDecoder { return new(vorbisDecoder) }},
	{"OpusHead", "an Opus file", func() streamDecoder { return new(opusDecoder) }},
	{"\x7fFLAC", "a FLAC stream in an Ogg file", nil},
	{"Speex   ", "a Speex file", nil},
}

// Open opens the first stream with sound of an Ogg file of size bytes that starts at byte start. It decodes the first
// page with sound, to refuse a file without any. The error is a [*codec.Error] without a path, or that of r.
func Open(r io.ReaderAt, start, size int64) (codec.Decoder, error) {
	s := &Source{pages: newPages(r, start, size), announce: -1, end: -1}
	first, name, err := s.choose()
	if err != nil {
		return nil, err
	}
	if s.decoder == nil {
		return nil, codec.NeedsTool(name)
	}
	if err := s.headers(first); err != nil {
		return nil, err
	}
	f := s.decoder.format()
	s.channels, s.rateHz, s.skip = f.Channels, f.RateHz, s.decoder.skip()
	// The first page with sound is decoded now, to know where the stream starts and to refuse a file without sound.
	for s.frames == 0 {
		switch err := s.load(); {
		case err == io.EOF:
			return nil, codec.Damaged("is " + name + " with no sound in it that can be read")
		case err != nil:
			return nil, err
		}
	}
	start0 := s.end - int64(s.frames) - s.fill
	last, err := lastGranule(r, start, size, s.serial)
	if err != nil {
		return nil, err
	}
	// A byte of a packet holds fewer frames than this; a larger position is damage.
	const framesPerByteMax = 8192
	if n := last - max(start0, 0) - s.decoder.skip(); last >= 0 && n >= 0 && n <= framesPerByteMax*size {
		s.announce = n
	}
	if _, ok := s.decoder.(*opusDecoder); ok {
		if s.opus, err = walkOpus(r, start, size, s.serial); err != nil {
			return nil, err
		}
	}
	return s, nil
}

// choose reads the first pages of all streams, which come before all other pages, and chooses the first stream with
// sound. It returns that stream's first page and what the file is called.
func (s *Source) choose() (first page, name string, err error) {
	found := false
	for {
		page, err := s.pages.next()
		if err != nil && err != io.EOF {
			return first, "", err
		}
		if err == io.EOF || !page.first {
			if err == nil {
				s.hold(page)
			}
			break
		}
		for _, k := range kinds {
			if len(page.body) < len(k.mark) || string(page.body[:len(k.mark)]) != k.mark {
				continue
			}
			if found {
				s.others++
				continue
			}
			found, name, s.serial, first = true, k.name, page.serial, page.clone()
			if k.decoder != nil {
				s.decoder = k.decoder()
			}
		}
	}
	if !found {
		e := codec.Damaged("is an Ogg file with no sound in it that can be read")
		e.AllowTool()
		return first, "", e
	}
	return first, name, nil
}

// clone returns a copy of a page that stays valid when the next is read.
func (p page) clone() page {
	p.body = append([]byte(nil), p.body...)
	p.lacing = append([]byte(nil), p.lacing...)
	return p
}

func (s *Source) hold(page page) {
	page = page.clone()
	s.held = &page
}

// headers passes the header packets to the decoder. The page on which the last one ends holds no sound.
func (s *Source) headers(page page) error {
	damaged := codec.Damaged("is an Ogg file whose header is damaged or cut off")
	damaged.AllowTool()
	for {
		done := false
		err := s.eachPacket(page, func(packet []byte) error {
			if done {
				return nil
			}
			var err error
			done, err = s.decoder.header(packet)
			return err
		})
		s.number = page.number
		if err != nil || done {
			return err
		}
		if page, err = s.nextPage(); err == io.EOF {
			return damaged
		} else if err != nil {
			return err
		}
		if page.number != s.number+1 {
			return damaged
		}
	}
}
