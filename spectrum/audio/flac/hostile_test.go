package flac

import (
	"bytes"
	"testing"
	"time"

	"toneplumb/spectrum/internal/audiotest"
)

// soon is the processor time after which decoding a hostile file is considered hanging. Our choice: ten times what these
// take here.
const soon = 20 * time.Second

// Decoding gives up a file in which a frame, a megabyte long by its header, begins at every ninth byte.
func TestFLACOfFalseFrames(t *testing.T) {
	const channels, blockSize = 8, 65535
	// RFC 9639, section 8.2: block sizes, frame sizes not told, 44.1 kHz, channels and bits less 1, no length, no MD5.
	data := append([]byte(Mark), 0x80, 0, 0, 34, 0, 16, blockSize>>8, blockSize&0xFF, 0, 0, 0, 0, 0, 0, 0x0A, 0xC4, 0x40|(channels-1)<<1, 0xF0, 0, 0, 0, 0)
	data = append(data, make([]byte, 16)...)
	// Section 9.1: sync, 16 bits of block size and the stream's rate, channels and the stream's bits, frame 0, block size
	// less 1; and after the checksum the head of a verbatim subframe (9.2.2), which takes any bytes.
	head := []byte{0xFF, 0xF8, 0x70, (channels - 1) << 4, 0, (blockSize - 1) >> 8, (blockSize - 1) & 0xFF}
	head = append(head, crc8(head), 0x02)
	if h, ok := parseHeader(head); !ok || h.blockSize != blockSize || h.channels != channels {
		t.Fatalf("the test's own header reads as %+v", h)
	}
	data = append(data, bytes.Repeat(head, 2<<20)...)
	audiotest.Soon(t, soon, func() {
		audiotest.WantProblem(t, opener.Refuse(t, data), "is a FLAC file with no sound in it that can be read")
	})
}
