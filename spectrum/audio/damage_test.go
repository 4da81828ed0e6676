package audio

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime/metrics"
	"testing"
	"time"
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
		"RIFX":        bigEndianFile(testWords, 32),
		"stereo.mp3":  seedFile(t, "stereo.mp3"),
		"mono.mp3":    seedFile(t, "mono.mp3"),
		"six frames":  seedFile(t, "stereo.mp3")[:78+6*288],
		"two frames":  seedFile(t, "mono.mp3")[:600],
		"stereo.flac": seedFile(t, "stereo.flac"),
		"mono.flac":   seedFile(t, "mono.flac"),
		"AIFF":        aiffFile{channels: 2, bits: 16, data: pcm}.bytes(),
		"AIFC":        aiffFile{kind: "fl32", channels: 1, bits: 32, data: floats}.bytes(),
		"AIFC behind": aiffFile{kind: "sowt", channels: 2, bits: 16, data: pcm, order: "xsc", offset: 4}.bytes(),
		"stereo.ogg":  seedFile(t, "stereo.ogg"),
		"mono.ogg":    seedFile(t, "mono.ogg"),
		"stereo.opus": seedFile(t, "stereo.opus"),
		"mono.opus":   seedFile(t, "mono.opus"),
	}
}

// probe opens and reads data as far as it goes, and fails on anything but samples, warnings and errors of ours.
func probe(t testing.TB, data []byte) (frames int) {
	t.Helper()
	before := allocated()
	d, err := openDecoder(bytes.NewReader(data), int64(len(data)))
	checkMemory(t, before, len(data))
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
	const enough = 1 << 19 // frames; a damaged file may announce long silence
	src := &recording{decoder: d, ctx: context.Background(), path: "x"}
	block := NewBlock(f.Channels, 999)
	for frames < enough {
		before := allocated()
		n, err := src.Read(block)
		checkMemory(t, before, len(data))
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
	if testing.Short() {
		t.Skip("-short: one goroutine only, nothing for the race detector")
	}
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

// allocated returns the bytes ever taken from the heap.
func allocated() uint64 {
	s := []metrics.Sample{{Name: "/gc/heap/allocs:bytes"}}
	metrics.Read(s)
	return s[0].Value.Uint64()
}

// memoryMax is what a hostile file may take, on top of its size. Our choice: any machine has it to spare. What opening or one read takes in all bounds
// what they hold.
const memoryMax = 64 << 20

func checkMemory(t testing.TB, before uint64, size int) {
	t.Helper()
	if n := allocated() - before; n > memoryMax+uint64(size) {
		t.Fatalf("%d MB of memory for a file of %d bytes", n>>20, size)
	}
}

func fuzz(f *testing.F, mend func([]byte) []byte, names ...string) {
	all := seeds(f)
	for _, name := range names {
		f.Add(all[name])
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if mend != nil {
			data = mend(data)
		}
		start := time.Now()
		probe(t, data)
		// Our choice: ten times what the slowest seed takes on a busy machine.
		const longest = 5 * time.Second
		if took := time.Since(start); took > longest {
			t.Fatalf("%d bytes took %v", len(data), took)
		}
	})
}

func FuzzWAV(f *testing.F)  { fuzz(f, nil, "16 bit", "24 in 32", "float", "double", "RF64", "RIFX") }
func FuzzAIFF(f *testing.F) { fuzz(f, nil, "AIFF", "AIFC", "AIFC behind") }

// FuzzMP3 begins with a few frames: the decoder takes 3 ms for each when it is built for fuzzing.
func FuzzMP3(f *testing.F) { fuzz(f, nil, "six frames", "two frames") }

func FuzzFLAC(f *testing.F)   { fuzz(f, nil, "stereo.flac", "mono.flac") }
func FuzzVorbis(f *testing.F) { fuzz(f, seal, "stereo.ogg", "mono.ogg") }
func FuzzOpus(f *testing.F)   { fuzz(f, seal, "stereo.opus", "mono.opus") }

// seal gives every Ogg page the right checksum, so that changes get as far as the packets.
func seal(data []byte) []byte {
	data = append([]byte(nil), data...)
	for i := 0; i+oggHeaderLen <= len(data); {
		_, length, ok := slicedOggPage(data[i:])
		if !ok {
			i++
			continue
		}
		page := data[i : i+length]
		clear(page[22:26])
		binary.LittleEndian.PutUint32(page[22:], oggCRC(0, page))
		i += length
	}
	return data
}

func FuzzRIFFChunks(f *testing.F) {
	all := seeds(f)
	for _, name := range []string{"16 bit", "double", "RF64", "RIFX"} {
		f.Add(all[name])
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		size := int64(len(data))
		found, err := walkRIFF(bytes.NewReader(data), size)
		if err != nil {
			t.Fatal(err)
		}
		if len(found.format) > fmtMaxLen || found.hasData && (found.dataAt < 0 || found.dataLen < 1 || found.dataAt+found.dataLen > size) {
			t.Fatalf("%+v in %d bytes", found, size)
		}
	})
}

func FuzzAIFFChunks(f *testing.F) {
	all := seeds(f)
	for _, name := range []string{"AIFF", "AIFC", "AIFC behind"} {
		f.Add(all[name])
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		size := int64(len(data))
		found, err := walkAIFF(bytes.NewReader(data), size)
		if err != nil {
			t.Fatal(err)
		}
		if len(found.common) > commMaxLen || found.hasSound && (found.soundAt < 0 || found.soundLen < 1 || found.soundAt+found.soundLen > size) {
			t.Fatalf("%+v in %d bytes", found, size)
		}
	})
}
