package flac

// Frame headers. After damage they show where the next intact frame is and which samples it holds.
// Source: RFC 9639, section 9.1 (frame header), 9.1.8 and 9.3 (checksums).

// headerMax is the longest frame header in bytes: sync 2, codes 2, number 7, block size 2, rate 2, CRC-8 1.
const headerMax = 16

// header is the content of a frame header.
type header struct {
	len       int // bytes, CRC-8 included
	blockSize int
	rateHz    int // 0: as in STREAMINFO
	channels  int
	stereo    byte // leftSide, sideRight or midSide; else the channels are independent
	bits      int  // 0: as in STREAMINFO
	variable  bool
	number    uint64 // of the frame, or of its first sample if variable
}

// Forms of stereo that keep a difference (section 9.1.3).
const (
	leftSide  = 8
	sideRight = 9
	midSide   = 10
)

var (
	rates    = [...]int{0, 88200, 176400, 192000, 8000, 16000, 22050, 24000, 32000, 44100, 48000, 96000}
	wordBits = [...]int{0, 8, 12, -1, 16, 20, 24, 32}
)

// parseHeader reads the header at the start of b and checks its CRC-8.
func parseHeader(b []byte) (header, bool) {
	var h header
	if len(b) < 6 || b[0] != 0xFF || b[1]&0xFE != 0xF8 || b[3]&1 != 0 {
		return h, false
	}
	h.variable = b[1]&1 == 1
	sizeCode, channelCode := b[2]>>4, b[3]>>4
	rateCode := b[2] & 15
	h.bits = wordBits[b[3]>>1&7]
	if sizeCode == 0 || rateCode == 15 || channelCode > 10 || h.bits < 0 {
		return h, false
	}
	h.channels = int(channelCode) + 1
	if channelCode >= leftSide {
		h.channels, h.stereo = 2, channelCode
	}
	pos := 4
	n, ok := codedNumber(b[pos:], &h.number)
	if !ok {
		return h, false
	}
	pos += n
	take := func(n int) int {
		v := 0
		for range n {
			if pos < len(b) {
				v = v<<8 | int(b[pos])
			}
			pos++
		}
		return v
	}
	h.blockSize = blockSize(sizeCode, take)
	h.rateHz = rateHz(rateCode, take)
	h.len = pos + 1
	return h, h.len <= len(b) && crc8(b[:pos]) == b[pos]
}

// blockSize returns the number of samples in a block (section 9.1.1). Some codes need further bytes, which take reads.
func blockSize(code byte, take func(bytes int) int) int {
	switch {
	case code == 1:
		return 192
	case code <= 5:
		return 144 << code
	case code == 6:
		return take(1) + 1
	case code == 7:
		return take(2) + 1
	}
	return 1 << code
}

// rateHz returns the sample rate (section 9.1.2), 0 for that of STREAMINFO; take is as for blockSize.
func rateHz(code byte, take func(bytes int) int) int {
	switch code {
	case 12:
		return take(1) * 1000
	case 13:
		return take(2)
	case 14:
		return take(2) * 10
	}
	return rates[code]
}

// codedNumber reads the frame or sample number, coded as UTF-8 extended to seven bytes, and returns its length in bytes.
func codedNumber(b []byte, v *uint64) (int, bool) {
	first := b[0]
	n := 0
	for n < 8 && first&(0x80>>n) != 0 {
		n++
	}
	switch {
	case n == 0:
		*v = uint64(first)
		return 1, true
	case n == 1 || n == 8 || n > len(b):
		return 0, false
	}
	*v = uint64(first & (0x7F >> n))
	for _, c := range b[1:n] {
		if c&0xC0 != 0x80 {
			return 0, false
		}
		*v = *v<<6 | uint64(c&0x3F)
	}
	return n, true
}

// crc8 has the polynomial x⁸+x²+x+1, start value 0.
func crc8(b []byte) byte {
	var crc byte
	for _, c := range b {
		crc ^= c
		for range 8 {
			carry := crc & 0x80
			crc <<= 1
			if carry != 0 {
				crc ^= 0x07
			}
		}
	}
	return crc
}

// crc16 continues a checksum with the polynomial x¹⁶+x¹⁵+x²+1, start value 0. Over a frame and the checksum at its end
// it is 0.
func crc16(crc uint16, b []byte) uint16 {
	for ; len(b) >= 4; b = b[4:] {
		crc = crcTables[3][b[0]^byte(crc>>8)] ^ crcTables[2][b[1]^byte(crc)] ^ crcTables[1][b[2]] ^ crcTables[0][b[3]]
	}
	for _, c := range b {
		crc = crc<<8 ^ crcTables[0][byte(crc>>8)^c]
	}
	return crc
}

// crcTables[n] holds the checksum of each byte followed by n zero bytes, to process four bytes at a time.
var crcTables = func() (t [4][256]uint16) {
	for i := range t[0] {
		crc := uint16(i) << 8
		for n := range t {
			for range 8 {
				carry := crc & 0x8000
				crc <<= 1
				if carry != 0 {
					crc ^= 0x8005
				}
			}
			t[n][i] = crc
		}
	}
	return t
}()
