package audio

import (
	"bytes"
	"io"
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
			benchmark(b, file, channels, sec*rateHz*channels)
		})
	}
}

func BenchmarkDecoders(b *testing.B) {
	all := seeds(b)
	for _, name := range []string{"stereo.mp3", "stereo.flac", "stereo.ogg", "stereo.opus"} {
		b.Run(name, func(b *testing.B) { benchmark(b, all[name], 2, probe(b, all[name])*2) })
	}
}

func benchmark(b *testing.B, file []byte, channels, samples int) {
	block := NewBlock(channels, 16384)
	b.SetBytes(int64(len(file)))
	b.ReportAllocs()
	for b.Loop() {
		d, err := openDecoder(bytes.NewReader(file), int64(len(file)))
		if err != nil {
			b.Fatal(err)
		}
		for err == nil {
			_, err = d.read(block)
		}
		if err != io.EOF {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(samples), "ns/sample")
}
