package flac

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/internal/audiotest"
	"toneplumb/spectrum/testkit"
)

// flacSounds are typical sounds for a FLAC writer and edge cases.
var flacSounds = []struct {
	name     string
	rateHz   int
	channels int
	frames   int
	at       func(c, i int) float64
}{
	{"a tune", 44100, 2, 3 * 44100, nil},
	{"a tune at 96 kHz", 96000, 2, 100001, nil},
	{"mono", 48000, 1, 50000, nil},
	{"a rate that no frame header holds", 655349 - 100000, 1, 9000, nil},
	{"one frame", 44100, 2, 1, nil},
	{"five frames", 44100, 2, 5, nil},
	{"a block and one", 44100, 2, 4097, nil},
	{"a block and fifteen", 44100, 1, 4096 + 15, nil},
	{"full scale, sign by sign", 44100, 2, 20000, func(c, i int) float64 { return float64(1 - 2*((i+c)&1)) }},
	{"beyond full scale", 44100, 2, 20000, func(c, i int) float64 { return 3 * math.Sin(float64(i*(c+1))/9) }},
	{"noise", 44100, 2, 20000, func(c, i int) float64 { return math.Mod(math.Abs(math.Sin(float64(i*2+c)*12.9898))*43758.5453, 2) - 1 }},
	{"silence", 44100, 2, 20000, func(int, int) float64 { return 0 }},
	{"left alone", 44100, 2, 20000, func(c, i int) float64 { return float64(1-c) * 0.5 * math.Sin(float64(i)/30) }},
	{"left is minus right", 44100, 2, 20000, func(c, i int) float64 { return float64(1-2*c) * 0.99 * math.Sin(float64(i)/3) }},
	{"steps", 44100, 2, 20000, func(c, i int) float64 { return float64(i/4096%3)/2 - 0.5 }},
}

// soundOf returns one of flacSounds, [channel][frame].
func soundOf(i int) [][]float64 {
	row := flacSounds[i]
	if row.at == nil {
		x := audiotest.Tune(row.rateHz, row.channels, float64(row.frames+10)/float64(row.rateHz), 0.5)
		for c := range x {
			x[c] = x[c][:row.frames]
		}
		return x
	}
	x := codec.NewBlock(row.channels, row.frames)
	for c := range x {
		for i := range x[c] {
			x[c][i] = row.at(c, i)
		}
	}
	return x
}

func flacBytes(t testing.TB, rateHz int, x [][]float64) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := Write(&out, rateHz, x, 1); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// dithered returns the samples of a 16-bit file written with that seed.
func dithered(x [][]float64, seed uint64) [][]float64 {
	d := codec.NewDither(seed)
	y := codec.NewBlock(len(x), len(x[0]))
	for i := range x[0] {
		for c := range x {
			y[c][i] = float64(codec.Steps(x[c][i], 16, d.Next())) / (1 << 15)
		}
	}
	return y
}

// A written stream decodes, bit for bit, to the dithered samples: here and in ffmpeg. `flac -t`, which checks every
// checksum, accepts it. The input is not changed.
func TestFLACWriting(t *testing.T) {
	for i, row := range flacSounds {
		t.Run(row.name, func(t *testing.T) {
			x := soundOf(i)
			path := audiotest.WriteFile(t, "a.flac", flacBytes(t, row.rateHz, x))
			for c, untouched := range soundOf(i) {
				for k := range untouched {
					if x[c][k] != untouched[k] {
						t.Fatal("the sound was changed")
					}
				}
			}
			want := dithered(x, 1)
			src := opener.OpenFile(t, path)
			if f := src.Format(); f.Bits != 16 || f.RateHz != row.rateHz || f.Frames != int64(row.frames) {
				t.Errorf("format %+v", f)
			}
			if largest, _ := audiotest.Difference(t, audiotest.DecodeAll(t, src, 4096), want); largest != 0 {
				t.Errorf("differs by %g", largest)
			}
			testkit.Tool(t, "flac")
			if out, err := exec.Command("flac", "--test", "--silent", path).CombinedOutput(); err != nil || len(out) > 0 {
				t.Errorf("flac --test: %v\n%s", err, out)
			}
			audiotest.AsFFmpeg(t, path, want)
		})
	}
}

// A stream is at most 1.15 times as large as that of `flac -0` for the same samples; the ratio to -5 is logged.
func TestFLACSize(t *testing.T) {
	const most = 1.15 // our choice: a page grows by no more than that; flac -0 takes no middle and side, so there is room
	testkit.Tool(t, "flac")
	for _, i := range []int{0, 1, 2} {
		row := flacSounds[i]
		x := soundOf(i)
		ours := len(flacBytes(t, row.rateHz, x))
		dir := t.TempDir()
		wav := filepath.Join(dir, "a.wav")
		audiotest.WriteWAV16(t, wav, row.rateHz, dithered(x, 1))
		size := func(level int) float64 {
			out := filepath.Join(dir, fmt.Sprintf("%d.flac", level))
			audiotest.Run(t, "flac", "--silent", "--no-padding", fmt.Sprintf("-%d", level), "-o", out, wav)
			info, err := os.Stat(out)
			if err != nil {
				t.Fatal(err)
			}
			return float64(info.Size())
		}
		fast, usual := float64(ours)/size(0), float64(ours)/size(5)
		t.Logf("%s: %d bytes, %.3f of flac -0, %.3f of flac -5", row.name, ours, fast, usual)
		if fast > most {
			t.Errorf("%s: %.3f times flac -0, want at most %g", row.name, fast, most)
		}
	}
}

// An error of the io.Writer is returned.
func TestFLACWriterFails(t *testing.T) {
	x := soundOf(0)
	for _, room := range []int{0, 10, 60, 20000} {
		if err := Write(&small{room}, 44100, x, 1); err == nil {
			t.Errorf("with room for %d bytes there is no error", room)
		}
	}
}

// small is a writer that fails after room bytes.
type small struct{ room int }

func (s *small) Write(p []byte) (int, error) {
	if len(p) > s.room {
		return 0, errors.New("full")
	}
	s.room -= len(p)
	return len(p), nil
}

func BenchmarkWriteFLAC(b *testing.B) {
	x := audiotest.Tune(44100, 2, 10, 0.5)
	b.SetBytes(int64(4 * len(x[0])))
	b.ReportAllocs()
	for b.Loop() {
		if err := Write(&bytes.Buffer{}, 44100, x, 1); err != nil {
			b.Fatal(err)
		}
	}
}
