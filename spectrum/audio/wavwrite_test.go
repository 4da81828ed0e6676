package audio

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"toneplumb/spectrum/internal/audiotest"
	"toneplumb/spectrum/testkit"
)

func TestWriteReadExact(t *testing.T) {
	testkit.Skip(t, "every kind of file")
	// Values on the grid of each depth, and others with what must come back.
	values := []float64{0, 0.5, -0.5, 1.0 / 32768, -1, 0.7001, -0.3003, 1e-6, 1.2, -1.2, 1}
	for _, row := range []struct {
		name     string
		depth    Depth
		encoding string
		want     func(x float64) float64
	}{
		{"16", PCM16, "16-bit PCM", func(x float64) float64 {
			return max(-1, min(32767.0/32768, math.RoundToEven(x*32768)/32768))
		}},
		{"24", PCM24, "24-bit PCM", func(x float64) float64 {
			return max(-1, min(8388607.0/8388608, math.RoundToEven(x*8388608)/8388608))
		}},
		{"32", PCM32, "32-bit PCM", func(x float64) float64 {
			return max(-1, min(2147483647.0/2147483648, math.RoundToEven(x*2147483648)/2147483648))
		}},
		{"float", Float32, "32-bit float", func(x float64) float64 { return float64(float32(x)) }},
	} {
		for _, channels := range []int{1, 2, 3} {
			t.Run(row.name, func(t *testing.T) {
				path := filepath.Join(t.TempDir(), "a b ü.wav")
				w, err := CreateWAV(path, 48000, channels, row.depth)
				if err != nil {
					t.Fatal(err)
				}
				defer w.Abort()
				block := NewBlock(channels, 1)
				for _, v := range values { // odd count: an odd data chunk for 24-bit mono
					for ch := range block {
						block[ch][0] = v / float64(ch+1)
					}
					if err := w.Write(block); err != nil {
						t.Fatal(err)
					}
				}
				if err := w.Close(); err != nil {
					t.Fatal(err)
				}
				src := openFile(t, path)
				f := src.Format()
				if f.Encoding != row.encoding || f.RateHz != 48000 || f.Channels != channels || f.Frames != int64(len(values)) {
					t.Errorf("format %+v", f)
				}
				got := audiotest.DecodeAll(t, src, 5)
				audiotest.NoWarnings(t, src)
				for ch := range got {
					for i, v := range values {
						if want := row.want(v / float64(ch+1)); got[ch][i] != want {
							t.Errorf("channel %d value %v came back as %v, want %v", ch, v, got[ch][i], want)
						}
					}
				}
				info, _ := os.Stat(path)
				if info.Size()%2 != 0 {
					t.Errorf("size %d is odd", info.Size())
				}
				audiotest.AsFFmpeg(t, path, got)
			})
		}
	}
}

func TestWriterLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.wav")
	files := func() int {
		entries, err := os.ReadDir(dir)
		if err != nil {
			t.Fatal(err)
		}
		return len(entries)
	}
	w, err := CreateWAV(path, 44100, 1, PCM16)
	if err != nil {
		t.Fatal(err)
	}
	w.Abort()
	w.Abort()
	if files() != 0 {
		t.Error("Abort left a file")
	}

	if w, err = CreateWAV(path, 44100, 1, PCM16); err != nil {
		t.Fatal(err)
	}
	audiotest.WantProblem(t, w.Write([][]float64{{math.NaN()}}), "cannot be written: the sound holds a value that is not a number")
	if w.Close() == nil {
		t.Error("Close after a failed Write succeeded")
	}
	if files() != 0 {
		t.Error("a failed Write left a file")
	}

	if err := os.WriteFile(path, []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	if w, err = CreateWAV(path, 44100, 1, PCM16); err != nil {
		t.Fatal(err)
	}
	if old, _ := os.ReadFile(path); string(old) != "old" {
		t.Error("the old file was touched before Close")
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	w.Abort()
	if files() != 1 {
		t.Errorf("%d files after Close, want 1", files())
	}
}

func TestCreateWAVRefuses(t *testing.T) {
	dir := t.TempDir()
	_, err := CreateWAV(dir, 44100, 2, PCM16)
	audiotest.WantProblem(t, err, "cannot be written: it is a folder")
	_, err = CreateWAV(os.DevNull, 44100, 2, PCM16)
	audiotest.WantProblem(t, err, "cannot be written: it is not an ordinary file")
	_, err = CreateWAV(filepath.Join(dir, "no", "a.wav"), 44100, 2, PCM16)
	audiotest.WantProblem(t, err, "cannot be written: no such file or directory")
}

// A file that is announced to be longer than 4 GiB is written as RF64, which ffmpeg reads too. It is valid even if it
// turns out shorter.
func TestWriteLong(t *testing.T) {
	testkit.Skip(t, "a long file")
	for _, depth := range []Depth{PCM16, PCM24, Float32} {
		for _, channels := range []int{1, 2, 6} {
			path := filepath.Join(t.TempDir(), "long.wav")
			w, err := CreateWAV(path, 8000, channels, depth)
			if err != nil {
				t.Fatal(err)
			}
			defer w.Abort()
			if err := w.Expect(1 << 32); err != nil {
				t.Fatal(err)
			}
			x := audiotest.Tune(8000, channels, 0.5, 0.5)
			if err := w.Write(x); err != nil {
				t.Fatal(err)
			}
			if err := w.Close(); err != nil {
				t.Fatal(err)
			}
			src := openFile(t, path)
			if f := src.Format(); f.Frames != int64(len(x[0])) {
				t.Errorf("%v, %d channels: %d frames announced, want %d", depth, channels, f.Frames, len(x[0]))
			}
			got := audiotest.DecodeAll(t, src, 4096)
			if w := src.Warnings(); len(w) > 0 {
				t.Errorf("%v, %d channels: warnings %v", depth, channels, w)
			}
			const step = 1.0 / (1 << 15) // half of it and clamping
			if largest, _ := audiotest.Difference(t, got, x); largest > step {
				t.Errorf("%v, %d channels: off by %g", depth, channels, largest)
			}
			audiotest.AsFFmpeg(t, path, got)
		}
	}
	// What fits stays an ordinary file.
	path := filepath.Join(t.TempDir(), "short.wav")
	w, err := CreateWAV(path, 8000, 1, PCM16)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Expect(1000); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if head, _ := os.ReadFile(path); len(head) != 44 || string(head[:4]) != "RIFF" {
		t.Errorf("an expected short file starts %q and has %d bytes", head[:4], len(head))
	}
}
