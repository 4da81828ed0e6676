package audio

import "io"

// oggKinds are the streams with sound, by the start of their first packet. Sources: Vorbis I specification, section
// 4.2.1; RFC 7845, section 5.1; the others from memory.
var oggKinds = []struct {
	mark, name string
	codec      func() oggCodec
}{
	{"\x01vorbis", "an Ogg Vorbis file", func() oggCodec { return new(vorbisCodec) }},
	{"OpusHead", "an Opus file", func() oggCodec { return new(opusCodec) }},
	{"\x7fFLAC", "a FLAC stream in an Ogg file", nil},
	{"Speex   ", "a Speex file", nil},
}

// openOgg opens the first stream with sound of the Ogg file that starts at start.
func openOgg(r io.ReaderAt, start, size int64) (decoder, error) {
	s := &oggSource{pages: newOggPages(r, start, size), announce: -1, end: -1}
	first, name, err := s.choose()
	if err != nil {
		return nil, err
	}
	if s.codec == nil {
		return nil, needsTool(name)
	}
	if err := s.headers(first); err != nil {
		return nil, err
	}
	f := s.codec.sound()
	s.channels, s.rateHz, s.skip = f.Channels, f.RateHz, s.codec.skip()
	// The first page with sound is decoded now, to know where the stream starts and to refuse a file without sound.
	for s.frames == 0 {
		switch err := s.load(); {
		case err == io.EOF:
			return nil, problem("is "+name+" with no sound in it that can be read", hintDamaged)
		case err != nil:
			return nil, err
		}
	}
	start0 := s.end - int64(s.frames) - s.fill
	last, err := lastGranule(r, start, size, s.serial)
	if err != nil {
		return nil, err
	}
	// A byte of packet stands for less than this; a position beyond is damage.
	const framesPerByteMax = 8192
	if n := last - max(start0, 0) - s.codec.skip(); last >= 0 && n >= 0 && n <= framesPerByteMax*size {
		s.announce = n
	}
	if _, ok := s.codec.(*opusCodec); ok {
		if s.opus, err = walkOpus(r, start, size, s.serial); err != nil {
			return nil, err
		}
	}
	return s, nil
}

// choose reads the first pages of all streams, which stand before all others, and takes the first with sound.
func (s *oggSource) choose() (first oggPage, name string, err error) {
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
		for _, k := range oggKinds {
			if len(page.body) < len(k.mark) || string(page.body[:len(k.mark)]) != k.mark {
				continue
			}
			if found {
				s.others++
				continue
			}
			found, name, s.serial, first = true, k.name, page.serial, page.kept()
			if k.codec != nil {
				s.codec = k.codec()
			}
		}
	}
	if !found {
		e := problem("is an Ogg file with no sound in it that can be read", hintDamaged)
		e.tool = true
		return first, "", e
	}
	return first, name, nil
}

// kept copies a page so that it outlasts the next.
func (p oggPage) kept() oggPage {
	p.body = append([]byte(nil), p.body...)
	p.lacing = append([]byte(nil), p.lacing...)
	return p
}

func (s *oggSource) hold(page oggPage) {
	page = page.kept()
	s.held = &page
}

// headers passes the header packets to the codec. The page that the last one ends on holds no sound.
func (s *oggSource) headers(page oggPage) error {
	damaged := problem("is an Ogg file whose header is damaged or cut off", hintDamaged)
	damaged.tool = true
	for {
		done := false
		err := s.eachPacket(page, func(packet []byte) error {
			if done {
				return nil
			}
			var err error
			done, err = s.codec.header(packet)
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
