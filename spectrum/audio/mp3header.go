package audio

// MPEG audio frame headers. Source: ISO/IEC 11172-3, section 2.4.1.3 and 2.4.2.3, and ISO/IEC 13818-3 for the low
// sampling frequencies, from memory; "MPEG-2.5" is a later extension outside the standards.

type mpegVersion uint8

const (
	mpeg25 mpegVersion = 0
	mpeg2  mpegVersion = 2
	mpeg1  mpegVersion = 3
)

const (
	mp3HeaderLen    = 4
	modeJoint       = 1
	modeMono        = 3
	maxMPEGFrameLen = 2881 // any layer: layer II at 160 kbit/s and 8 kHz, padded
)

// mpegHeader is the content of a frame header.
type mpegHeader struct {
	version mpegVersion
	layer   int // 1, 2, 3
	crc     bool
	bitrate int // bit/s; 0: free format
	rateHz  int
	padding int
	mode    byte
	modeExt byte
}

// bitratesKbit by table and index. Table 0: MPEG-1 layer I, 1: II, 2: III, 3: MPEG-2 layer I, 4: layers II and III.
var bitratesKbit = [5][15]int{
	{0, 32, 64, 96, 128, 160, 192, 224, 256, 288, 320, 352, 384, 416, 448},
	{0, 32, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320, 384},
	{0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320},
	{0, 32, 48, 56, 64, 80, 96, 112, 128, 144, 160, 176, 192, 224, 256},
	{0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160},
}

// parseMPEGHeader reads the four bytes of a frame header; ok is false if they are none.
func parseMPEGHeader(b []byte) (h mpegHeader, ok bool) {
	if len(b) < mp3HeaderLen || b[0] != 0xFF || b[1]&0xE0 != 0xE0 {
		return h, false
	}
	h.version = mpegVersion(b[1] >> 3 & 3)
	layerBits := b[1] >> 1 & 3
	rateIndex := b[2] >> 2 & 3
	bitIndex := b[2] >> 4
	if h.version == 1 || layerBits == 0 || rateIndex == 3 || bitIndex == 15 || b[3]&3 == 2 {
		return h, false
	}
	h.layer = 4 - int(layerBits)
	h.crc = b[1]&1 == 0
	h.padding = int(b[2] >> 1 & 1)
	h.mode = b[3] >> 6
	h.modeExt = b[3] >> 4 & 3
	table := h.layer - 1
	h.rateHz = [...]int{44100, 48000, 32000}[rateIndex]
	if h.version != mpeg1 {
		table = 3 + min(h.layer-1, 1)
		h.rateHz /= 2
	}
	if h.version == mpeg25 {
		h.rateHz /= 2
	}
	h.bitrate = 1000 * bitratesKbit[table][bitIndex]
	return h, true
}

// frameLen returns the bytes from this header to the next; 0 for free format.
func (h mpegHeader) frameLen() int {
	switch {
	case h.bitrate == 0:
		return 0
	case h.layer == 1:
		return (12*h.bitrate/h.rateHz + h.padding) * 4
	case h.layer == 3 && h.version != mpeg1:
		return 72*h.bitrate/h.rateHz + h.padding
	}
	return 144*h.bitrate/h.rateHz + h.padding
}

// samples returns the frames (one sample a channel) in one layer III frame.
func (h mpegHeader) samples() int {
	if h.version == mpeg1 {
		return 1152
	}
	return 576
}

func (h mpegHeader) channels() int {
	if h.mode == modeMono {
		return 1
	}
	return 2
}

// midSide reports whether the frame's channels are coded as sum and difference.
func (h mpegHeader) midSide() bool { return h.mode == modeJoint && h.modeExt&2 != 0 }

// intensity reports whether the frame's upper bands are coded as one channel with directions.
func (h mpegHeader) intensity() bool { return h.mode == modeJoint && h.modeExt&1 != 0 }

// sideLen returns the bytes of layer III side information.
func (h mpegHeader) sideLen() int {
	switch {
	case h.version == mpeg1 && h.mode != modeMono:
		return 32
	case h.version != mpeg1 && h.mode == modeMono:
		return 9
	}
	return 17
}

// mainAt returns the offset of the main data in the frame.
func (h mpegHeader) mainAt() int {
	n := mp3HeaderLen + h.sideLen()
	if h.crc {
		n += 2
	}
	return n
}

// like reports whether two headers belong to one stream.
func (h mpegHeader) like(o mpegHeader) bool {
	return h.version == o.version && h.layer == o.layer && h.rateHz == o.rateHz && h.channels() == o.channels()
}
