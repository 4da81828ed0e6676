package audio

import (
	"bytes"
	"context"
	"errors"
	"os"
	"testing"
	"time"
)

// soonSec is what a hostile file may take before we call it hanging. Our choice: ten times what these do here.
const soonSec = 20.0

// A file in which a frame begins at every ninth byte, each a megabyte long by its header, is given up.
func TestFLACOfFalseFrames(t *testing.T) {
	const channels, blockSize = 8, 65535
	// RFC 9639, section 8.2: block sizes, frame sizes not told, 44.1 kHz, channels and bits less 1, no length, no MD5.
	data := append([]byte(flacMark), 0x80, 0, 0, 34, 0, 16, blockSize>>8, blockSize&0xFF, 0, 0, 0, 0, 0, 0, 0x0A, 0xC4, 0x40|(channels-1)<<1, 0xF0, 0, 0, 0, 0)
	data = append(data, make([]byte, 16)...)
	// Section 9.1: sync, 16 bits of block size and the stream's rate, channels and the stream's bits, frame 0, block size
	// less 1; and after the checksum the head of a verbatim subframe (9.2.2), which takes any bytes.
	head := []byte{0xFF, 0xF8, 0x70, (channels - 1) << 4, 0, (blockSize - 1) >> 8, (blockSize - 1) & 0xFF}
	head = append(head, crc8(head), 0x02)
	if h, ok := parseFLACHeader(head); !ok || h.blockSize != blockSize || h.channels != channels {
		t.Fatalf("the test's own header reads as %+v", h)
	}
	data = append(data, bytes.Repeat(head, 2<<20)...)
	began := time.Now()
	_, err := Open(context.Background(), writeFile(t, "a.flac", data))
	wantProblem(t, err, "is a FLAC file with no sound in it that can be read")
	if took := time.Since(began).Seconds(); took > soonSec {
		t.Errorf("%.0f s for %d MB", took, len(data)>>20)
	}
}

// What looks for its next frame through gigabytes of nothing stops with its context.
func TestSearchStops(t *testing.T) {
	for _, name := range []string{"stereo.flac", "stereo.mp3", "stereo.ogg"} {
		path := writeFile(t, name, seedFile(t, name))
		const size = 16 << 30 // zeros that take no room
		if err := os.Truncate(path, size); err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(context.Background())
		src, err := Open(ctx, path)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		began := time.Now()
		time.AfterFunc(time.Second/10, cancel)
		block := NewBlock(src.Format().Channels, 1<<12)
		for err == nil {
			_, err = src.Read(block)
		}
		if took := time.Since(began).Seconds(); !errors.Is(err, context.Canceled) || took > soonSec {
			t.Errorf("%s: ended after %.1f s with %v", name, took, err)
		}
		src.Close()
	}
}
