package mp3_test

import (
	"fmt"

	"toneplumb/spectrum/audio/mp3"
)

// A frame of MPEG-1, layer III: 144 · 128000/44100 bytes. Source: ISO/IEC 11172-3, 2.4.3.1.
func Example() {
	h, ok := mp3.ParseHeader([]byte{0xff, 0xfb, 0x90, 0x00})
	fmt.Println(ok, h.Layer, h.Bitrate, h.RateHz, h.Channels(), h.FrameLen())
	// Output: true 3 128000 44100 2 417
}
