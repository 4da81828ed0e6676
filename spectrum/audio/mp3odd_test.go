package audio

import (
	"context"
	"encoding/binary"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

func TestMP3Refused(t *testing.T) {
	tool(t, "ffmpeg")
	dir := t.TempDir()
	wav := filepath.Join(dir, "a.wav")
	toWAV(t, wav, 44100, tune(44100, 2, 1, 0.4), PCM16)
	for _, row := range []struct {
		name, want, in string
		args           []string
	}{
		{"layer II", "is an MPEG layer II file (MP2), which cannot be read without ffmpeg", wav, []string{"ffmpeg", "-v", "error", "-i", "IN", "-c:a", "mp2", "-f", "mp2", "OUT"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			out := filepath.Join(dir, strings.ReplaceAll(row.name, " ", "")+".mp3")
			var args []string
			for _, a := range row.args[1:] {
				args = append(args, strings.NewReplacer("IN", row.in, "OUT", out).Replace(a))
			}
			run(t, row.args[0], args...)
			t.Setenv("PATH", "")
			_, err := Open(context.Background(), out)
			wantProblem(t, err, row.want)
		})
	}
}

// In free format no bit rate and so no length is in the header. ffmpeg 5.1 does not read it.
func TestMP3FreeFormat(t *testing.T) {
	tool(t, "mpg123")
	for _, row := range []struct {
		rateHz, kbit int
	}{{44100, 400}, {44100, 640}, {48000, 330}, {32000, 37}} {
		data := mp3Of(t, row.rateHz, 2, 1.7, "--freeformat", "-b", strconv.Itoa(row.kbit))
		junk := make([]byte, 4000)
		for i := range junk {
			junk[i] = byte(0xFF >> (i % 3)) // with false frame headers in it
		}
		raw := run(t, "mpg123", "-q", "-e", "f32", "-s", writeFile(t, "a.mp3", data))
		for _, file := range [][]byte{data, join(junk, data)} {
			src := openFile(t, writeFile(t, "a.mp3", file))
			got := decodeAll(t, src, 1000)
			want := make([][]float64, 2)
			for i := 0; i < len(raw); i += 4 {
				ch := i / 4 % 2
				want[ch] = append(want[ch], float64(math.Float32frombits(binary.LittleEndian.Uint32(raw[i:]))))
			}
			if largest, _ := maxDiff(t, got, want); largest > lsb16 {
				t.Errorf("%d kbit/s: largest difference %.2f LSB16", row.kbit, largest/lsb16)
			}
			if w := src.Warnings(); len(w) > 0 {
				t.Errorf("warnings %q", w)
			}
		}
	}
}

// Peaks above full scale are decoded as they are.
func TestMP3Overs(t *testing.T) {
	const rateHz = 44100
	x := NewBlock(1, rateHz)
	for i := range x[0] {
		x[0][i] = math.Copysign(0.99, math.Sin(2*math.Pi*100*float64(i)/rateHz)) // overshoots when coded
	}
	tool(t, "lame")
	dir := t.TempDir()
	wav, file := filepath.Join(dir, "a.wav"), filepath.Join(dir, "a.mp3")
	toWAV(t, wav, rateHz, x, PCM16)
	run(t, "lame", "--quiet", "-b", "64", "--scale", "1", wav, file)
	src := openFile(t, file)
	got := decodeAll(t, src, 4096)
	if w := src.Warnings(); len(w) > 0 {
		t.Errorf("warnings %q", w)
	}
	largest, _ := maxDiff(t, got, ffmpegDecode(t, file, 1))
	if peak := slices.Max(got[0]); peak < 1.05 || largest > lsb16 {
		t.Errorf("peak %.3f, largest difference from ffmpeg's floats %.2f LSB16", peak, largest/lsb16)
	}
}
