package flac

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/spectrum/internal/audiotest"
	"toneplumb/spectrum/testkit"
)

// flacOf encodes a tune and returns the file's bytes.
func flacOf(t testing.TB, rateHz, channels, bits int, sec float64, args ...string) []byte {
	t.Helper()
	testkit.Tool(t, "flac")
	testkit.Tool(t, "sox")
	dir := t.TempDir()
	base, wav, out := filepath.Join(dir, "b.wav"), filepath.Join(dir, "a.wav"), filepath.Join(dir, "a.flac")
	audiotest.WriteWAV(t, base, rateHz, audiotest.Tune(rateHz, channels, sec, 0.4))
	audiotest.Run(t, "sox", "-D", base, "-b", fmt.Sprint(bits), wav)
	audiotest.Run(t, "flac", append(append([]string{"--silent", "--lax"}, args...), "-o", out, wav)...)
	data, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func TestFLACAgainstFFmpeg(t *testing.T) {
	for _, row := range []struct {
		name                   string
		rateHz, channels, bits int
		args                   []string
	}{
		{"16 bit", 44100, 2, 16, nil},
		{"8 bit", 44100, 2, 8, nil},
		{"24 bit", 96000, 2, 24, []string{"-8"}},
		{"mono", 48000, 1, 16, nil},
		{"six channels", 48000, 6, 24, nil},
		{"24 kHz", 24000, 2, 16, nil},
		{"176.4 kHz", 176400, 2, 24, nil},
		{"192 kHz", 192000, 2, 24, []string{"-0"}},
		{"odd rate and block", 44056, 2, 16, []string{"-b", "1000"}},
		{"picture and padding", 44100, 2, 16, []string{"-P", "500000", "-T", "TITLE=Tün"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			data := flacOf(t, row.rateHz, row.channels, row.bits, 0.9, row.args...)
			tag := append([]byte("ID3\x04\x00\x00\x00\x00\x01\x00"), make([]byte, 128)...)
			for name, data := range map[string][]byte{"plain": data, "behind a tag": append(tag, data...)} {
				path := audiotest.WriteFile(t, "a.flac", data)
				src := opener.OpenFile(t, path)
				f := src.Format()
				if f.Container != "FLAC" || f.Bits != row.bits || f.Channels != row.channels || f.RateHz != row.rateHz || f.Lossy {
					t.Errorf("%s: format %+v", name, f)
				}
				got := audiotest.DecodeAll(t, src, 777)
				if w := src.Warnings(); len(w) > 0 {
					t.Errorf("%s: warnings %v", name, w)
				}
				if f.Frames != int64(len(got[0])) {
					t.Errorf("%s: announced %d frames, got %d", name, f.Frames, len(got[0]))
				}
				audiotest.AsFFmpeg(t, path, got)
			}
		})
	}
}

func TestFLACDamage(t *testing.T) {
	const rateHz = 44100
	data := flacOf(t, rateHz, 2, 16, 12)
	clean := audiotest.DecodeAll(t, opener.OpenFile(t, audiotest.WriteFile(t, "a.flac", data)), 4096)
	flip := append([]byte(nil), data...)
	flip[len(flip)/2] ^= 0x10
	for _, row := range []struct {
		name string
		data []byte
		want string
	}{
		{"cut off", data[:len(data)/2], "{stops-early "},
		{"one bit", flip, "{silenced "},
		{"a hole", append(append([]byte(nil), data[:len(data)/2]...), data[len(data)/2+90000:]...), "{silenced "},
	} {
		t.Run(row.name, func(t *testing.T) {
			src := opener.OpenFile(t, audiotest.WriteFile(t, "a.flac", row.data))
			got := audiotest.DecodeAll(t, src, 1000)
			if w := src.Warnings(); len(w) != 1 || !strings.Contains(fmt.Sprint(w), row.want) {
				t.Errorf("warnings %v, want %q", w, row.want)
			}
			if row.name != "cut off" && len(got[0]) != len(clean[0]) {
				t.Fatalf("%d frames, want %d", len(got[0]), len(clean[0]))
			}
			// Every sample is the right one or silence.
			for ch := range got {
				for i, x := range got[ch] {
					if x != clean[ch][i] && x != 0 {
						t.Fatalf("channel %d frame %d is %v, was %v", ch, i, x, clean[ch][i])
					}
				}
			}
		})
	}
}
