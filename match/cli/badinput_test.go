package cli

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// badInput is a file or name that a person might give, and what must come of it.
type badInput struct {
	name string
	make func(t *testing.T, dir string) string // returns the path to give
	want string                                // part of the error; "": it is measured
	says string                                // part of the text where it is measured
}

// content is a badInput made from bytes.
func content(name, file string, b []byte, want string) badInput {
	return badInput{name: name, want: want, make: func(t *testing.T, dir string) string {
		path := filepath.Join(dir, file)
		if err := os.WriteFile(path, b, 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}}
}

// change is a badInput made from a good WAV with one lie.
func change(name, want string, lie func(w *wavFile)) badInput {
	w := goodWAV(5)
	lie(&w)
	return content(name, "lie.wav", w.bytes(), want)
}

// path is a badInput that is no ordinary file.
func path(name, want string, make func(dir string) (string, error)) badInput {
	return badInput{name: name, want: want, make: func(t *testing.T, dir string) string {
		p, err := make(dir)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}}
}

// unixInputs are no ordinary files either, and Unix alone has them.
var unixInputs []badInput

func badInputs() []badInput {
	good := goodWAV(5).bytes()
	noise := make([]byte, 60000)
	for i := range noise {
		noise[i] = byte(i*i>>3 ^ i*7)
	}
	all := []badInput{
		content("empty", "a.wav", nil, "is empty"),
		content("one byte", "a.wav", []byte("R"), ""),
		content("text named .wav", "a.wav", []byte("Dear Ms Poole,\nplease find enclosed\n"), "is a text file"),
		content("markup", "a.mp3", []byte("<!DOCTYPE html><html><body>404</body></html>"), "is a text file"),
		content("noise named .mp3", "a.mp3", noise, "?"),
		content("noise named .flac", "a.flac", noise, "?"),
		content("zeros", "a.wav", make([]byte, 100000), "?"),
		content("a picture", "a.wav", append([]byte("\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR"), noise...), "?"),
		content("an archive", "a.wav", append([]byte("PK\x03\x04"), noise...), "?"),
		content("magic words only", "a.flac", []byte("fLaC"), "?"),
		content("an Ogg page and no more", "a.ogg", []byte("OggS\x00\x02\x00\x00\x00\x00\x00\x00\x00\x00"), "?"),
		content("ID3 tag that claims 256 MB", "a.mp3", append([]byte("ID3\x04\x00\x00\x7f\x7f\x7f\x7f"), noise...), "?"),
		content("good, wrong extension", "a.mp3", good, ""),
		content("good, no extension", "recording", good, ""),
		content("one sample", "a.wav", goodWAV(1.0/8000).bytes(), "lasts 0.0 s"),
		content("10 ms", "a.wav", goodWAV(0.01).bytes(), "lasts 0.0 s"),
		content("just too short", "a.wav", goodWAV(2.9).bytes(), "lasts 2.9 s"),
		content("floats: not numbers", "a.wav", floats(5, float32(math.NaN())).bytes(), "is silent"),
		content("floats: infinite", "a.wav", floats(5, float32(math.Inf(1))).bytes(), "is silent"),
		content("floats: denormal", "a.wav", floats(5, 1e-42).bytes(), "is silent"),
		content("floats: direct current", "a.wav", floats(5, 0.5).bytes(), "?"),
		content("floats: ten times full scale", "a.wav", floats(5, 10).bytes(), "?"),
		change("no channels", "?", func(w *wavFile) { w.channels = 0 }),
		change("65535 channels", "?", func(w *wavFile) { w.channels = 65535 }),
		change("rate 0", "?", func(w *wavFile) { w.rate = 0 }),
		change("rate 7999", "has a sample rate of 7999 Hz", func(w *wavFile) { w.rate = 7999 }),
		change("rate 4 GHz", "?", func(w *wavFile) { w.rate = 0xFFFFFFFF }),
		change("0 bits", "?", func(w *wavFile) { w.bits = 0 }),
		change("255 bits", "?", func(w *wavFile) { w.bits = 255 }),
		change("block align 0", "?", func(w *wavFile) { w.align = 0 }),
		change("block align 65535", "?", func(w *wavFile) { w.align = 65535 }),
		change("unknown coding", "?", func(w *wavFile) { w.tag = 0x1234 }),
		change("RIFF size 0", "", func(w *wavFile) { w.riffSize = 0 }),
		change("RIFF size too large", "", func(w *wavFile) { w.riffSize = 0x7FFFFFFF }),
		change("data size 0", "", func(w *wavFile) { w.dataSize = 0 }),
		change("data size all ones", "", func(w *wavFile) { w.dataSize = 0xFFFFFFFF }),
		change("data size too large", "", func(w *wavFile) { w.dataSize = 0x7FFFFFFE }),
		change("data size odd", "", func(w *wavFile) { w.dataSize = int64(len(w.data)) - 1 }),
		change("no data", "?", func(w *wavFile) { w.data = nil }),
		change("silence", "is silent", func(w *wavFile) { clear(w.data) }),
		change("clipped square", "", func(w *wavFile) {
			for i := 0; i < len(w.data); i += 2 {
				v := int16(32767)
				if i/400%2 == 0 {
					v = -32768
				}
				binary.LittleEndian.PutUint16(w.data[i:], uint16(v))
			}
		}),
		change("8 bit", "", func(w *wavFile) {
			w.bits, w.align = 8, 2
			for i := range w.data {
				w.data[i] = 128 + w.data[i]/4
			}
		}),
		change("8 channels", "", func(w *wavFile) {
			w.channels, w.align = 8, 16
			w.data = append(w.data, bytes.Repeat(w.data, 3)...)
		}),
		change("192 kHz", "lasts 0.2 s", func(w *wavFile) { w.rate = 192000 }),
		path("missing", "does not exist", func(dir string) (string, error) { return filepath.Join(dir, "missing.wav"), nil }),
		path("missing folder", "?", func(dir string) (string, error) { return filepath.Join(dir, "no/where.wav"), nil }),
		path("no name", "?", func(string) (string, error) { return "", nil }),
		path("directory", "is a folder", func(dir string) (string, error) { return dir, nil }),
		path("file as a folder", "?", func(dir string) (string, error) {
			return filepath.Join(dir, "file", "a.wav"), os.WriteFile(filepath.Join(dir, "file"), good, 0o644)
		}),
		path("link to itself", "?", func(dir string) (string, error) {
			return filepath.Join(dir, "loop.wav"), os.Symlink("loop.wav", filepath.Join(dir, "loop.wav"))
		}),
		path("link to nothing", "does not exist", func(dir string) (string, error) {
			return filepath.Join(dir, "gone.wav"), os.Symlink("nowhere", filepath.Join(dir, "gone.wav"))
		}),
		path("link to a recording", "", func(dir string) (string, error) {
			if err := os.WriteFile(filepath.Join(dir, "real.wav"), good, 0o644); err != nil {
				return "", err
			}
			return filepath.Join(dir, "link.wav"), os.Symlink("real.wav", filepath.Join(dir, "link.wav"))
		}),
	}
	all = append(all, unixInputs...)
	for _, name := range []string{
		"two\nlines.wav", "a \"quote\" and 'another'.wav", "-o.wav", "--json", "\xff\xfe not UTF-8.wav", "tab\there.wav",
		"\x1b[31mred\x1b[0m.wav", "夜の部.wav", "  blanks  .wav", "%s%n.wav", "a:b?*|<>.wav",
	} {
		all = append(all, content(fmt.Sprintf("name %q", name), name, good, ""))
	}
	all = append(all, badInput{name: "truncated data", says: "the file stops at 0:03 of 0:05", make: content("", "cut.wav", good[:100000], "").make})
	return all
}

func TestBadInputs(t *testing.T) {
	dir := t.TempDir()
	reference := filepath.Join(dir, "reference.wav")
	if err := os.WriteFile(reference, goodWAV(6).bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	inputs := badInputs()
	if len(inputs) < 60 {
		t.Errorf("%d inputs, want 60", len(inputs))
	}
	for i, c := range inputs {
		if testing.Short() && i%20 != 0 {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			giveAndJudge(t, c, c.make(t, dir), reference, dir)
		})
	}
	// Whoever is root may read everything, so this one is only for others.
	if os.Getuid() != 0 {
		locked := filepath.Join(dir, "locked.wav")
		if err := os.WriteFile(locked, goodWAV(5).bytes(), 0o000); err != nil {
			t.Fatal(err)
		}
		giveAndJudge(t, badInput{want: "permission"}, locked, reference, dir)
	}
}

// A good file cut after any of its first bytes is an error or a warning.
func TestTruncatedAtEveryHeaderByte(t *testing.T) {
	dir := t.TempDir()
	reference := filepath.Join(dir, "reference.wav")
	good := goodWAV(5).bytes()
	if err := os.WriteFile(reference, good, 0o644); err != nil {
		t.Fatal(err)
	}
	for n := range 60 {
		if testing.Short() && n%20 != 0 {
			continue
		}
		cut := filepath.Join(dir, "cut.wav")
		if err := os.WriteFile(cut, good[:n], 0o644); err != nil {
			t.Fatal(err)
		}
		giveAndJudge(t, badInput{name: fmt.Sprint(n, " bytes"), want: "?"}, cut, reference, dir)
	}
}

// giveAndJudge runs the command on an input as mix and as reference.
func giveAndJudge(t *testing.T, c badInput, input, reference, dir string) {
	t.Helper()
	chart := filepath.Join(dir, "chart.png")
	for _, args := range [][]string{{input, reference}, {reference, input}} {
		var stdout, stderr bytes.Buffer
		ctx, cancel := context.WithTimeout(context.Background(), time.Minute) // ends a hang; nothing is timed
		code := Run(ctx, append([]string{"match", "-o", chart, "--"}, args...), strings.NewReader(""), &stdout, &stderr)
		if ctx.Err() != nil {
			t.Errorf("%s: does not end", c.name)
		}
		cancel()
		_, err := os.Stat(chart)
		os.Remove(chart)
		lines := strings.Split(strings.TrimSuffix(stderr.String(), "\n"), "\n")
		switch {
		case code == exitDone:
			if c.want != "" && c.want != "?" {
				t.Errorf("%s: done, want an error with %q", c.name, c.want)
			}
			if err != nil || stderr.Len() > 0 || !strings.Contains(stdout.String(), c.says) {
				t.Errorf("%s: done, but chart: %v; stderr %q; text without %q:\n%s", c.name, err, &stderr, c.says, &stdout)
			}
			if strings.ContainsAny(stdout.String(), "\x1b\r\t") {
				t.Errorf("%s: control characters in %q", c.name, &stdout)
			}
		case code != exitFailed:
			t.Errorf("%s: exit code %d", c.name, code)
		case c.want == "" && c.name != "one byte":
			t.Errorf("%s: %s", c.name, &stderr)
		default:
			if len(lines) != 2 || !hasKinds(lines[0]) || !strings.HasPrefix(lines[1], "  hint: ") {
				t.Errorf("%s: the error is not two lines: %q", c.name, &stderr)
			}
			if c.want != "?" && !strings.Contains(lines[0], c.want) {
				t.Errorf("%s: %q, want %q", c.name, lines[0], c.want)
			}
			if err == nil || stdout.Len() > 0 {
				t.Errorf("%s: output beside an error", c.name)
			}
		}
	}
	left, _ := filepath.Glob(filepath.Join(dir, ".*.part"))
	if len(left) > 0 {
		t.Errorf("%s: left behind %q", c.name, left)
	}
}
