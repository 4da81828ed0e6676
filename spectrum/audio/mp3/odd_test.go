package mp3

import (
	"encoding/binary"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/internal/audiotest"
	"toneplumb/spectrum/testkit"
)

func TestMP3Refused(t *testing.T) {
	testkit.Tool(t, "ffmpeg")
	dir := t.TempDir()
	wav := filepath.Join(dir, "a.wav")
	audiotest.WriteWAV16(t, wav, 44100, audiotest.Tune(44100, 2, 1, 0.4))
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
			audiotest.Run(t, row.args[0], args...)
			audiotest.WantProblem(t, opener.Refuse(t, audiotest.ReadFile(t, out)), row.want)
		})
	}
}

// In free format the header has no bit rate, and so no length. ffmpeg 5.1 does not read it.
func TestMP3FreeFormat(t *testing.T) {
	testkit.Tool(t, "mpg123")
	for _, row := range []struct {
		rateHz, kbit int
	}{{44100, 400}, {44100, 640}, {48000, 330}, {32000, 37}} {
		data := mp3Of(t, row.rateHz, 2, 1.7, "--freeformat", "-b", strconv.Itoa(row.kbit))
		junk := make([]byte, 4000)
		for i := range junk {
			junk[i] = byte(0xFF >> (i % 3)) // with false frame headers in it
		}
		raw := audiotest.Run(t, "mpg123", "-q", "-e", "f32", "-s", audiotest.WriteFile(t, "a.mp3", data))
		for _, file := range [][]byte{data, slices.Concat(junk, data)} {
			src := opener.OpenFile(t, audiotest.WriteFile(t, "a.mp3", file))
			got := audiotest.DecodeAll(t, src, 1000)
			want := make([][]float64, 2)
			for i := 0; i < len(raw); i += 4 {
				ch := i / 4 % 2
				want[ch] = append(want[ch], float64(math.Float32frombits(binary.LittleEndian.Uint32(raw[i:]))))
			}
			if largest, _ := audiotest.Difference(t, got, want); largest > lsb16 {
				t.Errorf("%d kbit/s: largest difference %.2f LSB16", row.kbit, largest/lsb16)
			}
			audiotest.NoWarnings(t, src)
		}
	}
}

// Peaks above full scale are not clipped.
func TestMP3Overs(t *testing.T) {
	const rateHz = 44100
	x := codec.NewBlock(1, rateHz)
	for i := range x[0] {
		x[0][i] = math.Copysign(0.99, math.Sin(2*math.Pi*100*float64(i)/rateHz)) // overshoots when coded
	}
	testkit.Tool(t, "lame")
	dir := t.TempDir()
	wav, file := filepath.Join(dir, "a.wav"), filepath.Join(dir, "a.mp3")
	audiotest.WriteWAV16(t, wav, rateHz, x)
	audiotest.Run(t, "lame", "--quiet", "-b", "64", "--scale", "1", wav, file)
	src := opener.OpenFile(t, file)
	got := audiotest.DecodeAll(t, src, 4096)
	audiotest.NoWarnings(t, src)
	largest, _ := audiotest.Difference(t, got, audiotest.FFmpegDecode(t, file, 1))
	if peak := slices.Max(got[0]); peak < 1.05 || largest > lsb16 {
		t.Errorf("peak %.3f, largest difference from ffmpeg's floats %.2f LSB16", peak, largest/lsb16)
	}
}
