package audio

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// withoutTools reads a file as it is read where no other program is.
func withoutTools(t *testing.T, path string) (got [][]float64, warnings []string) {
	t.Helper()
	t.Setenv("PATH", t.TempDir())
	src := openFile(t, path)
	return decodeAll(t, src, 1000), src.Warnings()
}

// library reads an Opus file with the built-in decoder alone.
func library(t *testing.T, data []byte) [][]float64 {
	t.Helper()
	d, err := openDecoder(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	return decodeAll(t, &recording{decoder: d, ctx: context.Background(), closer: nopCloser{}}, 1000)
}

type nopCloser struct{}

func (nopCloser) Close() error { return nil }

func TestOpusSpeech(t *testing.T) {
	if testing.Short() {
		t.Skip("-short: one goroutine only, nothing for the race detector")
	}
	tool(t, "ffmpeg")
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
			path, data := encode(t, opusRateHz, row.channels, sec, 0.4, "a.opus", append(row.args, "-c:a", "libopus")...)
			got := checkOgg(t, path, "Opus", opusRateHz, row.channels, int(sec*opusRateHz))
			want := libopusDecode(t, path, row.channels)
			if db := relativeDB(t, got, want); !(db <= oggDB) {
				t.Errorf("%.1f dB from libopus, want at most %.0f", db, oggDB)
			}
			rough, warnings := withoutTools(t, path)
			if largest, _ := maxDiff(t, rough, library(t, data)); largest != 0 {
				t.Errorf("without ffmpeg it differs by %g from the built-in decoder", largest)
			}
			if len(warnings) != 1 || !strings.Contains(warnings[0], "install ffmpeg with libopus") {
				t.Errorf("without ffmpeg: warnings %q", warnings)
			}
			db := relativeDB(t, rough, want)
			if !(db <= roughDB) {
				t.Errorf("without ffmpeg: %.1f dB from libopus, want at most %.0f", db, roughDB)
			}
			t.Logf("without ffmpeg %.1f dB", db)
		})
	}
}

// What else may stand where ffmpeg is looked for, and damaged files.
func TestOpusSpeechStaysHere(t *testing.T) {
	_, data := encode(t, opusRateHz, 1, 8, 0.4, "a.opus", "-c:a", "libopus", "-b:a", "12k", "-application", "voip")
	pages := oggSplit(t, data)
	n := len(pages)
	if n < 5 {
		t.Fatalf("%d pages are too few for the rows below", n)
	}
	flip := append([]byte(nil), data...)
	flip[len(flip)/2] ^= 0x10
	const install, export = "install ffmpeg with libopus, or convert it to WAV first", "export it again to WAV or FLAC"
	for _, row := range []struct {
		name, ffmpeg string // "": the real one
		data         []byte
		want         []string // warnings, by their parts
	}{
		{"ffmpeg without libopus", "echo \"Unknown decoder 'libopus'\" >&2; exit 1\n", data, []string{install}},
		{"cut off", "", data[:len(data)/2], []string{export, "the file is cut off or damaged after 0:0"}},
		{"cut off between pages", "", join(pages[:n-1]...), []string{export, "the file has no end mark"}},
		{"one bit", "", flip, []string{export, "of sound is replaced by silence"}},
		{"a page missing", "", join(join(pages[:n/2]...), join(pages[n/2+1:]...)), []string{export, "of sound is replaced by silence"}},
		{"another behind", "", join(data, data), []string{export, "several recordings one after the other"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			if row.ffmpeg != "" {
				dir := t.TempDir()
				script(t, dir, "ffmpeg", row.ffmpeg)
				t.Setenv("PATH", dir)
			}
			src := openFile(t, writeFile(t, "a.opus", row.data))
			got := decodeAll(t, src, 1000)
			if largest, _ := maxDiff(t, got, library(t, row.data)); largest != 0 {
				t.Errorf("differs by %g from the built-in decoder", largest)
			}
			w := src.Warnings()
			if len(w) != len(row.want) {
				t.Fatalf("warnings %q, want %q", w, row.want)
			}
			for i, part := range row.want {
				if !strings.Contains(w[i], part) {
					t.Errorf("warning %q, want %q", w[i], part)
				}
			}
		})
	}
}

// Music never goes through ffmpeg; one packet of speech anywhere is found.
func TestWalkOpus(t *testing.T) {
	data := seedFile(t, "stereo.opus")
	pages := oggSplit(t, data)
	last, _, _ := parseOggPage(pages[len(pages)-1])
	lastPacket := len(data) // where it begins
	for i := len(last.lacing) - 1; i >= 0 && (i == len(last.lacing)-1 || last.lacing[i] == 255); i-- {
		lastPacket -= int(last.lacing[i])
	}
	with := func(at int, toc byte) []byte {
		changed := append([]byte(nil), data...)
		changed[at] = toc
		return seal(changed)
	}
	const silk, hybrid, celt = 0 << 3, 15 << 3, 16 << 3
	for _, row := range []struct {
		name          string
		data          []byte
		speech, whole bool
	}{
		{"music", data, false, true},
		{"SILK in the last packet", with(lastPacket, silk), true, true},
		{"hybrid in the last packet", with(lastPacket, hybrid), true, true},
		{"CELT in the last packet", with(lastPacket, celt), false, true},
		{"no first byte of a packet", with(lastPacket+1, silk), false, true},
		{"no packet of sound", with(strings.Index(string(data), "OpusTags")+8, 1), false, true},
		{"rubbish behind", append(append([]byte(nil), data...), 1, 2, 3), false, true},
		{"cut off", data[:len(data)-9], false, false},
		{"twice", join(data, data), false, false},
		{"nothing", nil, false, false},
	} {
		t.Run(row.name, func(t *testing.T) {
			serial := last.serial
			found, err := walkOpus(bytes.NewReader(row.data), 0, int64(len(row.data)), serial)
			if err != nil || found.speech != row.speech || found.whole != row.whole {
				t.Errorf("%+v, %v, want speech %v, whole %v", found, err, row.speech, row.whole)
			}
		})
	}
	// An ffmpeg that leaves a mark when it is called.
	dir := t.TempDir()
	mark := filepath.Join(dir, "called")
	touch, err := exec.LookPath("touch")
	if err != nil {
		t.Fatal(err)
	}
	script(t, dir, "ffmpeg", touch+" "+mark+"; exit 1\n")
	t.Setenv("PATH", dir)
	for called, file := range map[bool][]byte{false: data, true: with(lastPacket, silk)} {
		os.Remove(mark)
		decodeAll(t, openFile(t, writeFile(t, "a.opus", file)), 1000)
		if _, err := os.Stat(mark); (err == nil) != called {
			t.Errorf("ffmpeg called: %v, want %v", err == nil, called)
		}
	}
}

func BenchmarkWalkOpus(b *testing.B) {
	data := seedFile(b, "stereo.opus")
	page, _, _ := parseOggPage(data)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := walkOpus(bytes.NewReader(data), 0, int64(len(data)), page.serial); err != nil {
			b.Fatal(err)
		}
	}
}
