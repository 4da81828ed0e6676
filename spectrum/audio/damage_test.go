package audio

import (
	"bytes"
	"context"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
)

func seedFile(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// seeds are small files of every kind.
func seeds(t testing.TB) map[string][]byte {
	pcm, _ := packWords(testWords, 16, 2, false)
	wide, _ := packWords(testWords, 24, 4, false)
	floats, _ := packFloats(4)
	doubles, _ := packFloats(8)
	return map[string][]byte{
		"16 bit":      wavFile{tag: tagPCM, channels: 2, rateHz: 44100, bits: 16, data: pcm, dataSize: -1, order: "jlfdl"}.bytes(),
		"24 in 32":    wavFile{tag: tagPCM, extensible: true, channels: 3, rateHz: 44100, bits: 32, validBits: 24, data: wide, dataSize: -1}.bytes(),
		"float":       wavFile{tag: tagFloat, channels: 1, rateHz: 44100, bits: 32, data: floats, dataSize: 0xFFFFFFFF}.bytes(),
		"double":      wavFile{tag: tagFloat, channels: 1, rateHz: 44100, bits: 64, data: doubles, dataSize: 0}.bytes(),
		"RF64":        wavFile{riff: "RF64", tag: tagPCM, channels: 2, rateHz: 44100, bits: 16, data: pcm, dataSize: 0xFFFFFFFF, ds64: int64(len(pcm)), order: "fdh"}.bytes(),
		"stereo.mp3":  seedFile(t, "stereo.mp3"),
		"mono.mp3":    seedFile(t, "mono.mp3"),
		"stereo.flac": seedFile(t, "stereo.flac"),
		"mono.flac":   seedFile(t, "mono.flac"),
	}
}

// probe opens and reads data as far as it goes, and fails on anything but samples, warnings and errors of ours.
func probe(t testing.TB, data []byte) (frames int) {
	t.Helper()
	d, err := openDecoder(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		var e *Error
		if !errors.As(err, &e) || d != nil {
			t.Fatalf("error %v (%T) with decoder %v", err, err, d)
		}
		return 0
	}
	f := d.format()
	if f.RateHz < 1 || f.RateHz > maxRateHz || f.Channels < 1 || f.Channels > maxChannels || f.Frames < -1 || f.Container == "" {
		t.Fatalf("format %+v", f)
	}
	const enough = 1 << 20 // frames; a damaged file may announce long silence
	src := &recording{decoder: d, ctx: context.Background(), path: "x"}
	block := NewBlock(f.Channels, 999)
	for frames < enough {
		n, err := src.Read(block)
		if (n == 0) != (err != nil) {
			t.Fatalf("Read returned %d frames with error %v", n, err)
		}
		for ch := range block {
			for _, x := range block[ch][:n] {
				if math.IsNaN(x) || math.Abs(x) > maxFloatSample {
					t.Fatalf("a sample is %v", x)
				}
			}
		}
		frames += n
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("Read: %v", err)
		}
	}
	src.Warnings()
	return frames
}

func TestDamagedFilesNeverPanic(t *testing.T) {
	for name, data := range seeds(t) {
		t.Run(name, func(t *testing.T) {
			whole := probe(t, data)
			if whole == 0 {
				t.Fatal("the undamaged file gives nothing")
			}
			step := max(len(data)/100, 1)
			for n := 1; n < len(data); n += step {
				if got := probe(t, data[:n]); got > whole {
					t.Errorf("the first %d bytes give %d frames, all %d give %d", n, got, len(data), whole)
				}
			}
			rng := rand.New(rand.NewPCG(1, 2))
			for range 150 {
				bad := append([]byte(nil), data...)
				for range 1 + rng.IntN(20) {
					bad[rng.IntN(len(bad))] = byte(rng.Uint32())
				}
				probe(t, bad)
			}
		})
	}
}

func fuzz(f *testing.F, names ...string) {
	all := seeds(f)
	for _, name := range names {
		f.Add(all[name])
	}
	f.Fuzz(func(t *testing.T, data []byte) { probe(t, data) })
}

func FuzzWAV(f *testing.F)  { fuzz(f, "16 bit", "24 in 32", "float", "double", "RF64") }
func FuzzMP3(f *testing.F)  { fuzz(f, "stereo.mp3", "mono.mp3") }
func FuzzFLAC(f *testing.F) { fuzz(f, "stereo.flac", "mono.flac") }
