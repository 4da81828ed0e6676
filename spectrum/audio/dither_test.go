package audio

import (
	"bytes"
	"errors"
	"math"
	"os"
	"path/filepath"
	"testing"

	"toneplumb/spectrum/audio/flac"
	"toneplumb/spectrum/internal/audiotest"
)

// ditheredErrors returns the errors, in steps, of a soft sound that is written with dither and read again.
func ditheredErrors(t *testing.T, depth Depth, bits int, steps func(i int) float64) []float64 {
	const frames = 200000
	full := math.Exp2(float64(bits - 1))
	x := NewBlock(2, frames)
	for i := range frames {
		x[0][i] = steps(i) / full
		x[1][i] = x[0][i]
	}
	path := filepath.Join(t.TempDir(), "a.wav")
	w, err := CreateWAV(path, 48000, 2, depth)
	if err != nil {
		t.Fatal(err)
	}
	w.Dither(1)
	if err := w.Write(x); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	got := audiotest.DecodeAll(t, openFile(t, path), 4096)
	var errs []float64
	for i := range frames {
		for ch := range got {
			errs = append(errs, (got[ch][i]-x[ch][i])*full)
		}
	}
	return errs
}

// With triangular dither the total error has mean 0 and variance 1/4 of a step squared (1/6 of the dither, 1/12 of the
// rounding) for any sound: Lipshitz et al. 1992, from memory. The errors of the channels are independent.
func TestDitherHidesTheSteps(t *testing.T) {
	const (
		meanSteps = 0.01 // 8 standard errors of 400,000 values
		varSteps  = 0.01
		likeness  = 0.02 // correlation of the channels: 9 standard errors
	)
	for _, depth := range []struct {
		depth Depth
		bits  int
	}{{PCM16, 16}, {PCM24, 24}, {PCM32, 32}} {
		for name, steps := range map[string]func(i int) float64{
			"silence":     func(int) float64 { return 0 },
			"a third":     func(int) float64 { return 1.0 / 3 },
			"half a step": func(int) float64 { return 0.5 },
			"a soft sine": func(i int) float64 { return 0.4 * math.Sin(float64(i)/30) },
			"a loud sine": func(i int) float64 { return 20000 * math.Sin(float64(i)/30) },
		} {
			errs := ditheredErrors(t, depth.depth, depth.bits, steps)
			sum, squares, products := 0.0, 0.0, 0.0
			for i, e := range errs {
				sum += e
				squares += e * e
				if i%2 == 1 {
					products += errs[i-1] * e
				}
				if math.Abs(e) > 1.5+1e-6 {
					t.Fatalf("%v, %s: off by %g steps, dither and rounding allow 1.5", depth.depth, name, e)
				}
			}
			n := float64(len(errs))
			mean, variance, like := sum/n, squares/n, products/(n/2)/0.25
			if !(math.Abs(mean) <= meanSteps && math.Abs(variance-0.25) <= varSteps && math.Abs(like) <= likeness) {
				t.Errorf("%v, %s: error's mean %.4f, variance %.4f, likeness of the channels %.4f; want 0, 0.25, 0", depth.depth, name, mean, variance, like)
			}
		}
	}
}

// The bytes depend on the sound and the seed, not on the blocks. Float samples are not dithered.
func TestDitherRepeats(t *testing.T) {
	x := audiotest.Tune(8000, 2, 1, 0.5)
	write := func(depth Depth, seed uint64, size int) []byte {
		path := filepath.Join(t.TempDir(), "a.wav")
		w, err := CreateWAV(path, 8000, 2, depth)
		if err != nil {
			t.Fatal(err)
		}
		if seed > 0 {
			w.Dither(seed)
		}
		for at := 0; at < len(x[0]); at += size {
			to := min(at+size, len(x[0]))
			if err := w.Write([][]float64{x[0][at:to], x[1][at:to]}); err != nil {
				t.Fatal(err)
			}
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		all, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		return all
	}
	want := write(PCM16, 1, len(x[0]))
	for _, size := range []int{1, 7, 512} {
		if !bytes.Equal(write(PCM16, 1, size), want) {
			t.Errorf("blocks of %d give other bytes", size)
		}
	}
	if bytes.Equal(write(PCM16, 2, 512), want) || bytes.Equal(write(PCM16, 0, 512), want) {
		t.Error("the seed, or no dither, changes nothing")
	}
	if !bytes.Equal(write(Float32, 1, 512), write(Float32, 0, 512)) {
		t.Error("float samples were dithered")
	}
}

// FLAC and 16-bit WAV written with the same seed have the same samples.
func TestFLACEqualsWAV(t *testing.T) {
	x := audiotest.Tune(44100, 2, 1, 0.5)
	var file bytes.Buffer
	if err := flac.Write(&file, 44100, x, 1); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "a.wav")
	w, err := CreateWAV(path, 44100, 2, PCM16)
	if err != nil {
		t.Fatal(err)
	}
	w.Dither(1)
	if err := errors.Join(w.Write(x), w.Close()); err != nil {
		t.Fatal(err)
	}
	got := audiotest.DecodeAll(t, openFile(t, audiotest.WriteFile(t, "a.flac", file.Bytes())), 4096)
	if largest, _ := audiotest.Difference(t, got, audiotest.DecodeAll(t, openFile(t, path), 4096)); largest != 0 {
		t.Errorf("they differ by %g", largest)
	}
}
