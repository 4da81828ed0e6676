package mp3

import (
	"encoding/binary"
	"math"
	"os"
	"testing"

	"toneplumb/spectrum/internal/audiotest"
)

// ffmpegFloats and mpg123Floats decode a whole stream, including the encoder's delay.
func ffmpegFloats(t testing.TB, stream []byte, channels int) [][]float32 {
	return floats(audiotest.Run(t, "ffmpeg", "-v", "fatal", "-nostdin", "-flags2", "-skip_manual", "-f", "mp3", "-i", audiotest.WriteFile(t, "a.mp3", stream), "-f", "f32le", "-"), channels)
}

func mpg123Floats(t testing.TB, stream []byte, channels int) [][]float32 {
	return floats(audiotest.Run(t, "mpg123", "-q", "--no-gapless", "-e", "f32", "-s", audiotest.WriteFile(t, "a.mp3", stream)), channels)
}

// writeWords writes two seconds of music as 16-bit words.
func writeWords(t testing.TB, path string, rateHz, channels int) {
	t.Helper()
	var raw []byte
	x := make([][]float64, channels)
	for ch := range x {
		x[ch] = music(rateHz, ch, 2*rateHz)
	}
	for i := range x[0] {
		for ch := range x {
			raw = binary.LittleEndian.AppendUint16(raw, uint16(int16(20000*max(-1.6, min(1.6, x[ch][i])))))
		}
	}
	if err := os.WriteFile(path, raw, 0o600); err != nil {
		t.Fatal(err)
	}
}

func floats(raw []byte, channels int) [][]float32 {
	x := make([][]float32, channels)
	for i := 0; i+4*channels <= len(raw); i += 4 * channels {
		for ch := range x {
			x[ch] = append(x[ch], math.Float32frombits(binary.LittleEndian.Uint32(raw[i+4*ch:])))
		}
	}
	return x
}

// decode decodes the frames of a stream, which has nothing between them, and counts those with an error.
func decode(t testing.TB, stream []byte, freeLen int) (x [][]float32, broken int) {
	t.Helper()
	var d Decoder
	var out Block
	for len(stream) > 0 {
		h, ok := ParseHeader(stream)
		h.FreeLen = freeLen
		if !ok || h.FrameLen() > len(stream) {
			t.Fatalf("no frame %d bytes from the end", len(stream))
		}
		if _, err := d.Decode(stream[:h.FrameLen()], &out); err != nil {
			broken++
		}
		if x == nil {
			x = make([][]float32, h.Channels())
		}
		for ch := range x {
			x[ch] = append(x[ch], out[ch][:h.Samples()]...)
		}
		stream = stream[h.FrameLen():]
	}
	return x, broken
}

// compare returns the largest and the rms difference, and the peak of want.
func compare(t testing.TB, got, want [][]float32) (largest, rms, peak float64) {
	t.Helper()
	n := 0
	for ch := range want {
		for i, w := range want[ch][:min(len(want[ch]), len(got[ch]))] {
			d := math.Abs(float64(got[ch][i]) - float64(w))
			peak = max(peak, math.Abs(float64(w)))
			largest = max(largest, d)
			rms += d * d
			n++
		}
	}
	return largest, math.Sqrt(rms / float64(max(n, 1))), peak
}
