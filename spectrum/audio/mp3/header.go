package mp3

// Frame headers of MPEG audio. Source: ISO/IEC 11172-3, sections 2.4.1.3 and 2.4.2.3, and ISO/IEC 13818-3 for the low
// sampling frequencies, from memory; "MPEG-2.5" is a later extension outside the standards.

// Version is the MPEG version of a frame, as coded in its header.
type Version uint8

const (
	MPEG25 Version = 0
	MPEG2  Version = 2
	MPEG1  Version = 3
)

const (
	// HeaderLen is the length of a frame header in bytes.
	HeaderLen = 4

	// MaxFrameLen is the largest accepted length in bytes of a frame of any layer, free format included. Our choice: 640
	// kbit/s, twice the highest rate of layer III outside free format, at 8 kHz, padded.
	MaxFrameLen = 5761
)

const (
	modeJoint = 1
	modeMono  = 3
)

// Header is the content of a frame header.
type Header struct {
	Version Version
	Layer   int // 1, 2, 3
	Bitrate int // bit/s; 0: free format
	RateHz  int
	Padding int  // 0 or 1
	CRC     bool // whether a checksum of two bytes follows; it is skipped

	// FreeLen is the length in bytes, without padding, of a frame in free format. It is not in the header: it has to be
	// measured as the distance between frames. 0 if unknown.
	FreeLen int

	mode, modeExt byte
	rate          int // among the nine of layer III: 44.1, 48 and 32 kHz, their halves and their quarters
}

// bitratesKbit by table and index. Table 0: MPEG-1 layer I, 1: II, 2: III, 3: MPEG-2 layer I, 4: layers II and III.
var bitratesKbit = [5][15]int{
	{0, 32, 64, 96, 128, 160, 192, 224, 256, 288, 320, 352, 384, 416, 448},
	{0, 32, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320, 384},
	{0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320},
	{0, 32, 48, 56, 64, 80, 96, 112, 128, 144, 160, 176, 192, 224, 256},
	{0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160},
}

// ParseHeader reads a frame header from the first four bytes of b; ok is false if they are not a header.
func ParseHeader(b []byte) (h Header, ok bool) {
	if len(b) < HeaderLen || b[0] != 0xFF || b[1]&0xE0 != 0xE0 {
		return h, false
	}
	h.Version = Version(b[1] >> 3 & 3)
	layerBits := b[1] >> 1 & 3
	rateIndex := b[2] >> 2 & 3
	bitIndex := b[2] >> 4
	if h.Version == 1 || layerBits == 0 || rateIndex == 3 || bitIndex == 15 || b[3]&3 == 2 {
		return h, false
	}
	h.Layer = 4 - int(layerBits)
	h.CRC = b[1]&1 == 0
	h.Padding = int(b[2] >> 1 & 1)
	h.mode = b[3] >> 6
	h.modeExt = b[3] >> 4 & 3
	table := h.Layer - 1
	h.rate = int(rateIndex) + [...]int{MPEG1: 0, MPEG2: 3, MPEG25: 6}[h.Version]
	h.RateHz = [...]int{44100, 48000, 32000}[rateIndex]
	if h.Version != MPEG1 {
		table = 3 + min(h.Layer-1, 1)
		h.RateHz /= 2
	}
	if h.Version == MPEG25 {
		h.RateHz /= 2
	}
	h.Bitrate = 1000 * bitratesKbit[table][bitIndex]
	return h, true
}

// FrameLen returns the length of the frame in bytes, 0 for free format of unknown length.
func (h Header) FrameLen() int {
	switch {
	case h.Bitrate == 0 && h.FreeLen == 0:
		return 0
	case h.Bitrate == 0:
		return h.FreeLen + h.Padding
	case h.Layer == 1:
		return (12*h.Bitrate/h.RateHz + h.Padding) * 4
	case h.Layer == 3 && h.Version != MPEG1:
		return 72*h.Bitrate/h.RateHz + h.Padding
	}
	return 144*h.Bitrate/h.RateHz + h.Padding
}

// Samples returns the number of samples per channel in a layer III frame: 1152 or 576.
func (h Header) Samples() int { return lines * h.granules() }

func (h Header) granules() int {
	if h.Version == MPEG1 {
		return 2
	}
	return 1
}

// Channels returns 1 or 2.
func (h Header) Channels() int {
	if h.mode == modeMono {
		return 1
	}
	return 2
}

// MidSide reports whether the frame's channels are coded as sum and difference.
func (h Header) MidSide() bool { return h.mode == modeJoint && h.modeExt&2 != 0 }

// Intensity reports whether the frame's upper bands are coded as one channel with directions.
func (h Header) Intensity() bool { return h.mode == modeJoint && h.modeExt&1 != 0 }

// SideLen returns the length of the layer III side information in bytes.
func (h Header) SideLen() int {
	switch {
	case h.Version == MPEG1 && h.mode != modeMono:
		return 32
	case h.Version != MPEG1 && h.mode == modeMono:
		return 9
	}
	return 17
}

// MainAt returns the offset of the main data in the frame in bytes.
func (h Header) MainAt() int {
	n := HeaderLen + h.SideLen()
	if h.CRC {
		n += 2
	}
	return n
}

// Like reports whether two headers can belong to the same stream: version, layer, sample rate and number of channels are
// equal.
func (h Header) Like(o Header) bool {
	return h.Version == o.Version && h.Layer == o.Layer && h.RateHz == o.RateHz && h.Channels() == o.Channels()
}
