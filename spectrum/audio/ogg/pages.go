package ogg

import (
	"bufio"
	"encoding/binary"
	"io"

	"toneplumb/spectrum/audio/codec"
)

// Pages of an Ogg file. Source: RFC 3533, section 6 (page header, checksum).
const (
	// Mark is the signature at the start of every page.
	Mark = "OggS"

	headerLen     = 27
	pageMax       = headerLen + 255 + 255*255
	flagContinued = 1
	flagFirst     = 2
	flagLast      = 4
)

// page is one page.
type page struct {
	serial    uint32 // of the stream it belongs to
	number    uint32 // counted within the stream
	granule   int64  // position, in frames, of the end of the last packet that ends on the page; -1 if none does
	continued bool   // whether it begins with the rest of a packet
	first     bool   // of its stream
	last      bool
	lacing    []byte // lengths of the body's segments; a packet ends with one below 255
	body      []byte // valid until the next page is read
}

// pages reads the pages of all streams of an Ogg file, and resynchronises after damage.
type pages struct {
	buf        *bufio.Reader
	page       []byte
	gap        bool  // whether bytes were skipped since the last page
	unreadable bool  // whether bytes at the end are no page
	wasted     int64 // bytes of pages whose checksum was wrong
}

// wasteMax bounds the work on bytes that are no page: in a hostile file such a "page" may begin at every byte and claim
// 64 KB each time. Our choice: 64 MB, a quarter of a second.
const wasteMax = 64 << 20

func newPages(r io.ReaderAt, start, size int64) *pages {
	return &pages{buf: bufio.NewReaderSize(io.NewSectionReader(r, start, size-start), 2*pageMax)}
}

// next returns the next complete page with a correct checksum, or io.EOF.
func (p *pages) next() (page, error) {
	for p.wasted < wasteMax {
		b, err := p.buf.Peek(pageMax)
		if len(b) < headerLen {
			p.unreadable = p.gap || len(b) > 0
			if err == nil {
				err = io.EOF
			}
			return page{}, err
		}
		_, length, ok := parsePage(b)
		if ok {
			p.page = append(p.page[:0], b[:length]...) // outlives the buffer's next fill
			page, _, _ := slicedPage(p.page)
			p.gap = false
			p.buf.Discard(length)
			return page, nil
		}
		p.wasted += int64(length)
		p.gap = true
		p.buf.Discard(1)
	}
	p.unreadable = true
	return page{}, io.EOF
}

// parsePage reads the page at the start of b and checks its checksum. length is the length that its header gives, 0 if
// there is no header.
func parsePage(b []byte) (p page, length int, ok bool) {
	p, length, ok = slicedPage(b)
	if !ok {
		return p, length, false
	}
	var none [4]byte
	crc := crc32(0, b[:22])
	crc = crc32(crc, none[:])
	crc = crc32(crc, b[26:length])
	return p, length, crc == binary.LittleEndian.Uint32(b[22:])
}

// slicedPage reads the page at the start of b and does not check its checksum.
func slicedPage(b []byte) (p page, length int, ok bool) {
	if len(b) < headerLen || string(b[:4]) != Mark || b[4] != 0 {
		return p, 0, false
	}
	segments := int(b[26])
	if len(b) < headerLen+segments {
		return p, 0, false
	}
	p = page{
		granule: int64(binary.LittleEndian.Uint64(b[6:])), serial: binary.LittleEndian.Uint32(b[14:]), number: binary.LittleEndian.Uint32(b[18:]),
		continued: b[5]&flagContinued != 0, first: b[5]&flagFirst != 0, last: b[5]&flagLast != 0,
		lacing: b[headerLen : headerLen+segments],
	}
	length = headerLen + segments
	for _, n := range p.lacing {
		length += int(n)
	}
	if len(b) < length {
		return p, length, false
	}
	p.body = b[headerLen+segments : length]
	return p, length, true
}

// packets returns how many packets end on the page.
func (p *page) packets() int {
	n := 0
	for _, l := range p.lacing {
		if l < 255 {
			n++
		}
	}
	return n
}

// lastGranule returns the position at the end of a stream, from the last pages of the file; -1 if they do not give it.
func lastGranule(r io.ReaderAt, start, size int64, serial uint32) (int64, error) {
	b := make([]byte, min(2*pageMax, size-start))
	if err := codec.ReadAt(r, b, size-int64(len(b))); err != nil {
		return -1, err
	}
	wasted := 0
	for i := len(b) - headerLen; i >= 0 && wasted < wasteMax; i-- {
		if b[i] != 'O' {
			continue
		}
		page, length, ok := parsePage(b[i:])
		if ok && page.serial == serial && page.granule >= 0 {
			return page.granule, nil
		}
		if !ok {
			wasted += length
		}
	}
	return -1, nil
}

// crc32 continues a checksum with the polynomial 0x04C11DB7, start value 0, no reflection, no final inversion.
func crc32(crc uint32, b []byte) uint32 {
	for _, c := range b {
		crc = crc<<8 ^ crcTable[byte(crc>>24)^c]
	}
	return crc
}

var crcTable = func() (t [256]uint32) {
	const poly = 0x04C11DB7
	for i := range t {
		r := uint32(i) << 24
		for range 8 {
			carry := r >> 31
			r = r<<1 ^ carry*poly
		}
		t[i] = r
	}
	return t
}()
