package pcm

import (
	"testing"
)

// BenchmarkWAV reads a minute of stereo from memory in blocks of 16384 frames; bytes are those of the file.
func BenchmarkWAV(b *testing.B) {
	const rateHz, channels, sec = 44100, 2, 60
	for _, row := range []struct {
		name      string
		tag, bits int
	}{{"16-bit", tagPCM, 16}, {"24-bit", tagPCM, 24}, {"float32", tagFloat, 32}} {
		b.Run(row.name, func(b *testing.B) {
			data := make([]byte, sec*rateHz*channels*row.bits/8)
			for i := range data {
				data[i] = byte(i*i>>5) & 0x3F
			}
			file := wavFile{tag: row.tag, channels: channels, rateHz: rateHz, bits: row.bits, data: data, dataSize: -1}.bytes()
			opener.Benchmark(b, file)
		})
	}
}
