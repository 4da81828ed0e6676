package audio

import (
	"bufio"
	"encoding/binary"
	"io"
)

// Pages of an Ogg file. Source: RFC 3533, section 6 (page header, checksum).
const (
	oggMark      = "OggS"
	oggHeaderLen = 27
	oggPageMax   = oggHeaderLen + 255 + 255*255
	oggContinued = 1
	oggFirst     = 2
	oggLast      = 4
)

// oggPage is one page.
type oggPage struct {
	serial    uint32 // of the stream it belongs to
	number    uint32 // counted within the stream
	granule   int64  // position of the end of the last packet that ends here; -1 if none does
	continued bool   // begins with the rest of a packet
	first     bool
	last      bool
	lacing    []byte // lengths of the body's segments; a packet ends at one below 255
	body      []byte // valid until the next page is asked for
}

// oggPages walks over the pages of an Ogg file, of all its streams, and finds the way back after damage.
type oggPages struct {
	buf        *bufio.Reader
	page       []byte
	gap        bool
	unreadable bool  // bytes at the end that gave no page
	wasted     int64 // bytes of pages whose checksum was wrong
}

// oggWasteMax bounds the work on pages that are none: such a page may begin at every byte of a hostile file and claim
// 64 KB each time. Our choice: 64 MB, a quarter of a second.
const oggWasteMax = 64 << 20

func newOggPages(r io.ReaderAt, start, size int64) *oggPages {
	return &oggPages{buf: bufio.NewReaderSize(io.NewSectionReader(r, start, size-start), 2*oggPageMax)}
}

// next returns the next whole page with the right checksum, or io.EOF.
func (p *oggPages) next() (oggPage, error) {
	for p.wasted < oggWasteMax {
		b, err := p.buf.Peek(oggPageMax)
		if len(b) < oggHeaderLen {
			p.unreadable = p.gap || len(b) > 0
			if err == nil {
				err = io.EOF
			}
			return oggPage{}, err
		}
		_, length, ok := parseOggPage(b)
		if ok {
			p.page = append(p.page[:0], b[:length]...) // outlives the buffer's next fill
			page, _, _ := slicedOggPage(p.page)
			p.gap = false
			p.buf.Discard(length)
			return page, nil
		}
		p.wasted += int64(length)
		p.gap = true
		p.buf.Discard(1)
	}
	p.unreadable = true
	return oggPage{}, io.EOF
}

// parseOggPage reads the page at the start of b and checks it. length is what its header claims, 0 if it is no header.
func parseOggPage(b []byte) (page oggPage, length int, ok bool) {
	page, length, ok = slicedOggPage(b)
	if !ok {
		return page, length, false
	}
	var none [4]byte
	crc := oggCRC(0, b[:22])
	crc = oggCRC(crc, none[:])
	crc = oggCRC(crc, b[26:length])
	return page, length, crc == binary.LittleEndian.Uint32(b[22:])
}

// slicedOggPage reads the page at the start of b without its checksum.
func slicedOggPage(b []byte) (page oggPage, length int, ok bool) {
	if len(b) < oggHeaderLen || string(b[:4]) != oggMark || b[4] != 0 {
		return page, 0, false
	}
	segments := int(b[26])
	if len(b) < oggHeaderLen+segments {
		return page, 0, false
	}
	page = oggPage{
		granule: int64(binary.LittleEndian.Uint64(b[6:])), serial: binary.LittleEndian.Uint32(b[14:]), number: binary.LittleEndian.Uint32(b[18:]),
		continued: b[5]&oggContinued != 0, first: b[5]&oggFirst != 0, last: b[5]&oggLast != 0,
		lacing: b[oggHeaderLen : oggHeaderLen+segments],
	}
	length = oggHeaderLen + segments
	for _, n := range page.lacing {
		length += int(n)
	}
	if len(b) < length {
		return page, length, false
	}
	page.body = b[oggHeaderLen+segments : length]
	return page, length, true
}

// packets returns how many packets end on the page.
func (p *oggPage) packets() int {
	n := 0
	for _, l := range p.lacing {
		if l < 255 {
			n++
		}
	}
	return n
}

// lastGranule returns the position at the end of a stream from a look at the file's last pages, -1 if they do not say.
func lastGranule(r io.ReaderAt, start, size int64, serial uint32) (int64, error) {
	b := make([]byte, min(2*oggPageMax, size-start))
	if err := readAt(r, b, size-int64(len(b))); err != nil {
		return -1, err
	}
	wasted := 0
	for i := len(b) - oggHeaderLen; i >= 0 && wasted < oggWasteMax; i-- {
		if b[i] != 'O' {
			continue
		}
		page, length, ok := parseOggPage(b[i:])
		if ok && page.serial == serial && page.granule >= 0 {
			return page.granule, nil
		}
		if !ok {
			wasted += length
		}
	}
	return -1, nil
}

// oggCRC continues a checksum: polynomial 0x04C11DB7, start value 0, no reflection, no final inversion.
func oggCRC(crc uint32, b []byte) uint32 {
	for _, c := range b {
		crc = crc<<8 ^ oggTable[byte(crc>>24)^c]
	}
	return crc
}

var oggTable = func() (t [256]uint32) {
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
