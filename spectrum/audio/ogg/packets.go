package ogg

import "io"

// next returns the next page of any stream.
func (s *Source) next() (page, error) {
	if s.held != nil {
		page := *s.held
		s.held = nil
		return page, nil
	}
	return s.pages.next()
}

// nextPage returns the stream's next page. It returns io.EOF at the stream's end and where another stream begins.
func (s *Source) nextPage() (page, error) {
	for {
		page, err := s.next()
		switch {
		case err != nil:
			return page, err
		case page.first: // all streams of a recording begin before any continues; a later one may reuse a serial number
			s.chained = true
			return page, io.EOF
		case s.ended:
			continue // the rest of other streams
		case page.serial == s.serial:
			return page, nil
		}
	}
}

// eachPacket calls do with every packet that ends on the page.
func (s *Source) eachPacket(page page, do func(packet []byte) error) error {
	body := page.body
	length := 0
	drop := page.continued && len(s.packet) == 0 // the start of the first packet is missing
	if !page.continued {
		s.packet, s.long = s.packet[:0], false
	}
	for _, n := range page.lacing {
		length += int(n)
		if n == 255 {
			continue
		}
		piece := body[:length]
		body, length = body[length:], 0
		if drop {
			drop = false
			continue
		}
		s.join(piece)
		err := do(s.packet)
		s.packet, s.long = s.packet[:0], false
		if err != nil {
			return err
		}
	}
	if !drop {
		s.join(body)
	}
	return nil
}

// join appends a piece to the current packet, up to packetMax.
func (s *Source) join(piece []byte) {
	room := packetMax - len(s.packet)
	if len(piece) > room {
		piece, s.long = piece[:room], true
	}
	s.packet = append(s.packet, piece...)
}
