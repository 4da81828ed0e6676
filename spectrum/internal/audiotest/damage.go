package audiotest

import (
	"bytes"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"runtime/metrics"
	"testing"
	"time"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/testkit"
)

// Probe opens a file and reads it to its end or half a million frames, and returns how many frames it got. The test fails
// on anything but finite samples, warnings and a [*codec.Error], and if decoding takes too much memory.
func (open Opener) Probe(t testing.TB, data []byte) (frames int) {
	t.Helper()
	before := Allocated()
	d, err := open(bytes.NewReader(data), int64(len(data)))
	checkMemory(t, before, len(data))
	if err != nil {
		var e *codec.Error
		if !errors.As(err, &e) || d != nil {
			t.Fatalf("error %v (%T) with decoder %v", err, err, d)
		}
		return 0
	}
	if d == nil { // no stream of the kind
		return 0
	}
	f := d.Format()
	if codec.CheckFormat(int64(f.RateHz), f.Channels) != nil || f.Frames < -1 || f.Container == "" {
		t.Fatalf("format %+v", f)
	}
	const enough = 1 << 19 // frames; a damaged file may announce long silence
	block := codec.NewBlock(f.Channels, 999)
	for frames < enough && err == nil {
		before := Allocated()
		n := 0
		n, err = d.Read(block)
		checkMemory(t, before, len(data))
		if n == 0 && err == nil {
			t.Fatal("Read returned nothing without an error")
		}
		for ch := range block {
			for _, x := range block[ch][:n] {
				if math.IsNaN(x) || math.Abs(x) > codec.MaxSample {
					t.Fatalf("a sample is %v", x)
				}
			}
		}
		frames += n
	}
	if err != nil && err != io.EOF {
		t.Fatalf("Read: %v", err)
	}
	d.Warnings()
	return frames
}

// Damage probes truncated files and files with overwritten bytes, made from seeds (by name).
func (open Opener) Damage(t *testing.T, seeds map[string][]byte) {
	testkit.Skip(t, "hundreds of damaged files")
	for name, data := range seeds {
		t.Run(name, func(t *testing.T) {
			whole := open.Probe(t, data)
			if whole == 0 {
				t.Fatal("the undamaged file gives nothing")
			}
			step := max(len(data)/100, 1)
			for n := 1; n < len(data); n += step {
				if got := open.Probe(t, data[:n]); got > whole {
					t.Errorf("the first %d bytes give %d frames, all %d give %d", n, got, len(data), whole)
				}
			}
			rng := rand.New(rand.NewPCG(1, 2))
			for range 150 {
				bad := append([]byte(nil), data...)
				for range 1 + rng.IntN(20) {
					bad[rng.IntN(len(bad))] = byte(rng.Uint32())
				}
				open.Probe(t, bad)
			}
		})
	}
}

// Fuzz probes the files that fuzzing makes from the seeds. mend, which may be nil, corrects checksums first.
func (open Opener) Fuzz(f *testing.F, mend func([]byte) []byte, seeds ...[]byte) {
	for _, data := range seeds {
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if mend != nil {
			data = mend(data)
		}
		const longest = 5 * time.Second // our choice: ten times the time of the slowest seed
		Soon(t, longest, func() { open.Probe(t, data) })
	})
}

// Soon fails if f takes more processor time than longest. The load of other programs does not matter.
func Soon(t testing.TB, longest time.Duration, f func()) {
	t.Helper()
	before := processorTime(t)
	f()
	if took := processorTime(t) - before; took > longest {
		t.Errorf("%v of processor time, want at most %v", took, longest)
	}
}

// Benchmark reads a file from memory in blocks of 16384 frames; the reported bytes are those of the file.
func (open Opener) Benchmark(b *testing.B, file []byte) {
	d := open.Open(b, file)
	channels := d.Format().Channels
	samples := channels * len(DecodeAll(b, d, 16384)[0])
	block := codec.NewBlock(channels, 16384)
	b.SetBytes(int64(len(file)))
	b.ReportAllocs()
	for b.Loop() {
		d, err := open(bytes.NewReader(file), int64(len(file)))
		for err == nil {
			_, err = d.Read(block)
		}
		if err != io.EOF {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(samples), "ns/sample")
}

// Allocated returns the total number of bytes allocated on the heap so far.
func Allocated() uint64 {
	s := []metrics.Sample{{Name: "/gc/heap/allocs:bytes"}}
	metrics.Read(s)
	return s[0].Value.Uint64()
}

// memoryMax is the largest number of bytes, in addition to its size, that opening a hostile file or one read of it may
// allocate. That also bounds what they hold at any time. Our choice: any machine has it to spare.
const memoryMax = 64 << 20

func checkMemory(t testing.TB, before uint64, size int) {
	t.Helper()
	if n := Allocated() - before; n > memoryMax+uint64(size) {
		t.Fatalf("%d MB of memory for a file of %d bytes", n>>20, size)
	}
}
