package audio

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/internal/audiotest"
	"toneplumb/spectrum/testkit"
)

// withoutTools reads a file as if no other program were installed.
func withoutTools(t *testing.T, path string) (got [][]float64, warnings []Remark) {
	t.Helper()
	t.Setenv("PATH", t.TempDir())
	src := openFile(t, path)
	return audiotest.DecodeAll(t, src, 1000), src.Warnings()
}

// library reads an Opus file with the built-in decoder alone.
func library(t *testing.T, data []byte) [][]float64 {
	t.Helper()
	return audiotest.DecodeAll(t, audiotest.Opener(openDecoder).Open(t, data), 1000)
}

func TestOpusSpeech(t *testing.T) {
	testkit.Tool(t, "ffmpeg")
	// roughDB: the built-in decoder's difference, measured −44 to −65 dB on music at 8 to 32 kbit/s.
	const roughDB = -40.0
	for _, row := range []struct {
		name     string
		channels int
		args     []string
	}{
		{"8 kbit/s", 1, []string{"-b:a", "8k", "-application", "voip"}},
		{"8 kbit/s stereo", 2, []string{"-b:a", "8k", "-application", "voip"}},
		{"12 kbit/s", 1, []string{"-b:a", "12k", "-application", "voip"}},
		{"12 kbit/s stereo", 2, []string{"-b:a", "12k", "-application", "voip"}},
		{"16 kbit/s", 1, []string{"-b:a", "16k", "-application", "voip"}},
		{"16 kbit/s stereo", 2, []string{"-b:a", "16k", "-application", "voip"}},
		{"24 kbit/s", 1, []string{"-b:a", "24k", "-application", "voip"}},
		{"24 kbit/s stereo", 2, []string{"-b:a", "24k", "-application", "voip"}},
		{"frames of 60 ms", 1, []string{"-b:a", "16k", "-application", "voip", "-frame_duration", "60"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			const sec = 3.21
			path, data := audiotest.FFmpegEncode(t, 48000, row.channels, sec, 0.4, "a.opus", append(row.args, "-c:a", "libopus")...)
			src := openFile(t, path)
			got := audiotest.DecodeAll(t, src, 1000)
			audiotest.NoWarnings(t, src)
			want := audiotest.LibopusDecode(t, path, row.channels)
			if db := audiotest.RelativeDB(t, got, want); !(db <= audiotest.OggDB) {
				t.Errorf("%.1f dB from libopus, want at most %.0f", db, audiotest.OggDB)
			}
			rough, warnings := withoutTools(t, path)
			if largest, _ := audiotest.Difference(t, rough, library(t, data)); largest != 0 {
				t.Errorf("without ffmpeg it differs by %g from the built-in decoder", largest)
			}
			if len(warnings) != 1 || warnings[0].Kind != codec.Speech {
				t.Errorf("without ffmpeg: warnings %v", warnings)
			}
			db := audiotest.RelativeDB(t, rough, want)
			if !(db <= roughDB) {
				t.Errorf("without ffmpeg: %.1f dB from libopus, want at most %.0f", db, roughDB)
			}
			t.Logf("without ffmpeg %.1f dB", db)
		})
	}
}

// Speech is decoded here if "ffmpeg" is something else or fails, and if the file is damaged.
func TestOpusSpeechStaysHere(t *testing.T) {
	_, data := audiotest.FFmpegEncode(t, 48000, 1, 8, 0.4, "a.opus", "-c:a", "libopus", "-b:a", "12k", "-application", "voip")
	pages := audiotest.SplitOgg(t, data)
	n := len(pages)
	if n < 5 {
		t.Fatalf("%d pages are too few for the rows below", n)
	}
	flip := append([]byte(nil), data...)
	flip[len(flip)/2] ^= 0x10
	const install, export = "{speech ", "{speech-damaged "
	for _, row := range []struct {
		name, ffmpeg string // "": the real one
		data         []byte
		want         []string // warnings, by their parts
	}{
		{"ffmpeg without libopus", "echo \"Unknown decoder 'libopus'\" >&2; exit 1\n", data, []string{install}},
		{"cut off", "", data[:len(data)/2], []string{export, "{cut-off "}},
		{"cut off between pages", "", slices.Concat(pages[:n-1]...), []string{export, "{no-end-mark "}},
		{"one bit", "", flip, []string{export, "{silenced "}},
		{"a page missing", "", slices.Concat(slices.Concat(pages[:n/2]...), slices.Concat(pages[n/2+1:]...)), []string{export, "{silenced "}},
		{"another behind", "", slices.Concat(data, data), []string{export, "{only-first "}},
	} {
		t.Run(row.name, func(t *testing.T) {
			if row.ffmpeg != "" {
				dir := t.TempDir()
				audiotest.Script(t, dir, "ffmpeg", row.ffmpeg)
				t.Setenv("PATH", dir)
			}
			src := openFile(t, audiotest.WriteFile(t, "a.opus", row.data))
			got := audiotest.DecodeAll(t, src, 1000)
			if largest, _ := audiotest.Difference(t, got, library(t, row.data)); largest != 0 {
				t.Errorf("differs by %g from the built-in decoder", largest)
			}
			w := src.Warnings()
			if len(w) != len(row.want) {
				t.Fatalf("warnings %v, want %q", w, row.want)
			}
			for i, part := range row.want {
				if !strings.Contains(fmt.Sprint(w[i]), part) {
					t.Errorf("warning %v, want %q", w[i], part)
				}
			}
		})
	}
}

// Music is never read through ffmpeg; a file with one packet of speech anywhere is.
func TestOpusMusicStaysHere(t *testing.T) {
	data := audiotest.Seed(t, "stereo.opus")
	speech := append([]byte(nil), data...)
	pages := audiotest.SplitOgg(t, data)
	last := pages[len(pages)-1]
	at := len(data) // where the last packet begins
	lacing := last[27 : 27+int(last[26])]
	for i := len(lacing) - 1; i >= 0 && (i == len(lacing)-1 || lacing[i] == 255); i-- {
		at -= int(lacing[i])
	}
	speech[at] = 0 // SILK
	speech = audiotest.SealOgg(speech)
	// An ffmpeg that leaves a mark when it is called.
	dir := t.TempDir()
	mark := filepath.Join(dir, "called")
	touch, err := exec.LookPath("touch")
	if err != nil {
		t.Fatal(err)
	}
	audiotest.Script(t, dir, "ffmpeg", touch+" "+mark+"; exit 1\n")
	t.Setenv("PATH", dir)
	for called, file := range map[bool][]byte{false: data, true: speech} {
		os.Remove(mark)
		audiotest.DecodeAll(t, openFile(t, audiotest.WriteFile(t, "a.opus", file)), 1000)
		if _, err := os.Stat(mark); (err == nil) != called {
			t.Errorf("ffmpeg called: %v, want %v", err == nil, called)
		}
	}
}
