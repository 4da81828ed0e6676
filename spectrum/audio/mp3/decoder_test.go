package mp3

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"toneplumb/spectrum/internal/audiotest"
	"toneplumb/spectrum/testkit"
)

// The largest accepted differences. isoRMS and isoLargest are those of a full-accuracy decoder. Source: ISO/IEC 11172-4,
// section on audio decoders, from memory: rms below 2^-15/√12, no difference above 2^-14, full scale ±1. The project
// accepts one step of 16 bits, half of isoLargest.
const (
	isoRMS     = 1.0 / 32768 / 3.4641016151377544
	isoLargest = 2 * lsb16
	bar        = min(lsb16, isoLargest)
)

type oracle func(t testing.TB, stream []byte, channels int) [][]float32

// check decodes a stream and compares it with another decoder's sound.
func check(t *testing.T, stream []byte, freeLen int, with oracle) {
	t.Helper()
	h, ok := ParseHeader(stream)
	if !ok {
		t.Fatal("no header")
	}
	got, broken := decode(t, stream, freeLen)
	if broken > 0 {
		t.Errorf("%d frames are broken", broken)
	}
	want := with(t, stream, h.Channels())
	if len(got[0]) != len(want[0]) {
		t.Errorf("%d samples, want %d", len(got[0]), len(want[0]))
	}
	largest, rms, peak := compare(t, got, want)
	t.Logf("largest %.3f, rms %.4f LSB16, peak %.3f", largest/lsb16, rms/lsb16, peak)
	if !(largest <= bar) || !(rms < isoRMS) {
		t.Errorf("largest difference %.3f LSB16, want at most %.3f; rms %.4f, want below %.4f", largest/lsb16, bar/lsb16, rms/lsb16, isoRMS/lsb16)
	}
	if peak < 0.05 {
		t.Errorf("the peak is %.3f: nothing to compare", peak)
	}
}

// TestRandomStreams compares streams that no encoder here makes. At 24 kHz ffmpeg 5.1 has a different edge of one band,
// and mpg123 1.31 is wrong with intensity stereo in short blocks and with mixed blocks of MPEG-2.5. So such streams at 24
// kHz have no oracle.
func TestRandomStreams(t *testing.T) {
	testkit.Skip(t, "asks another program")
	for _, version := range []Version{MPEG1, MPEG2, MPEG25} {
		for rate := range 3 {
			if os.Getenv("TONEPLUMB_LONG") == "" && rate != int(version)%3 {
				continue // one rate of each version is enough for every run; the rates share all but tables
			}
			for i, row := range []struct {
				name      string
				mode, ext int
				blocks    blocks
			}{
				{"mono long", 3, 0, long},
				{"mono short", 3, 0, short},
				{"mono mixed", 3, 0, mixed},
				{"stereo", 0, 0, all},
				{"mid-side", 1, 2, all},
				{"intensity long", 1, 1, long},
				{"intensity and mid-side long", 1, 3, long},
				{"intensity short", 1, 1, short},
				{"intensity mixed", 1, 1, mixed},
				{"intensity and mid-side", 1, 3, all},
			} {
				k := kind{version: version, rate: rate, bitIndex: 14 - i%3, mode: row.mode, ext: row.ext, blocks: row.blocks, crc: rate == 1, seed: uint64(i)}
				with, at24kHz := ffmpegFloats, version == MPEG2 && rate == 1
				if at24kHz {
					with = mpg123Floats
				}
				if at24kHz && row.ext&1 == 1 && row.blocks != long {
					continue
				}
				stream := k.stream(40)
				h, _ := ParseHeader(stream)
				t.Run(fmt.Sprintf("%d Hz %s", h.RateHz, row.name), func(t *testing.T) { check(t, stream, 0, with) })
			}
		}
	}
}

// TestEncodedFiles compares streams that LAME encodes from music-like sound with hard attacks.
func TestEncodedFiles(t *testing.T) {
	testkit.Skip(t, "asks another program")
	type row struct {
		rateHz, channels int
		args             []string
	}
	var rows []row
	add := func(rateHz, channels int, args ...string) { rows = append(rows, row{rateHz, channels, args}) }
	for _, kbit := range []string{"32", "48", "64", "96", "112", "128", "160", "192", "224", "256", "320"} {
		add(44100, 2, "-b", kbit)
	}
	for _, mode := range []string{"s", "j", "f", "d", "m"} {
		add(44100, 2, "-b", "160", "-m", mode)
	}
	for _, quality := range []string{"0", "2", "4", "6", "9"} {
		add(44100, 2, "-V", quality)
	}
	for _, rateHz := range []int{48000, 32000} {
		add(rateHz, 2, "-b", "64")
		add(rateHz, 2, "-b", "320")
		add(rateHz, 1, "-V", "3")
	}
	for _, rateHz := range []int{24000, 22050, 16000, 12000, 11025, 8000} {
		add(rateHz, 2, "-b", "32")
		add(rateHz, 2, "-b", "64", "-m", "f")
		add(rateHz, 1, "-V", "4")
	}
	add(44100, 1, "-b", "32")
	add(44100, 1, "-b", "320")
	add(44100, 2, "-b", "128", "--nores")
	add(44100, 2, "-b", "128", "-p") // checksums
	add(44100, 2, "-b", "128", "--allshort")
	add(44100, 2, "-b", "192", "--noshort")
	add(44100, 2, "--abr", "190")
	add(44100, 2, "-b", "320", "-k", "-m", "s") // no low-pass
	add(44100, 2, "--freeformat", "-b", "400")
	add(44100, 2, "--freeformat", "-b", "640")
	add(22050, 1, "--freeformat", "-b", "200")
	for _, r := range rows {
		t.Run(fmt.Sprintf("%d Hz, %d channels %v", r.rateHz, r.channels, r.args), func(t *testing.T) {
			stream := encoded(t, r.rateHz, r.channels, r.args...)
			with, freeLen := ffmpegFloats, 0
			if r.rateHz == 24000 {
				with = mpg123Floats
			}
			if r.args[0] == "--freeformat" { // which ffmpeg 5.1 does not read
				with = mpg123Floats
				var kbit int
				fmt.Sscan(r.args[2], &kbit)
				h, _ := ParseHeader(stream)
				freeLen = 1000 * kbit * h.Samples() / 8 / r.rateHz
			}
			check(t, stream, freeLen, with)
		})
	}
}

// encoded returns a stream from LAME without an information frame.
func encoded(t testing.TB, rateHz, channels int, args ...string) []byte {
	t.Helper()
	dir := t.TempDir()
	raw := filepath.Join(dir, "a.raw")
	writeWords(t, raw, rateHz, channels)
	all := []string{"--quiet", "-t", "-r", "-s", fmt.Sprint(float64(rateHz) / 1000), "--resample", fmt.Sprint(float64(rateHz) / 1000), "--bitwidth", "16", "--signed", "--little-endian"}
	if channels == 1 {
		all = append(all, "-m", "m")
	}
	return audiotest.Run(t, "lame", append(append(all, args...), raw, "-")...)
}

// music returns decaying notes with an attack at each, over noise, for channel ch of two.
func music(rateHz, ch, frames int) []float64 {
	rng := rand.New(rand.NewPCG(7, uint64(ch)))
	x := make([]float64, frames)
	noteLen := rateHz / 5
	for i := range x {
		note, sec := i/noteLen, float64(i%noteLen)/float64(rateHz)
		freqHz := 130 * math.Pow(2, float64((note*7+3*ch)%24)/12)
		for k := 1.0; k <= 5; k++ {
			x[i] += 0.25 / k * math.Sin(2*math.Pi*k*freqHz*sec) * math.Exp(-5*sec)
		}
		x[i] += (2*rng.Float64() - 1) * (0.01 + 0.3*math.Exp(-90*sec))
	}
	return x
}
