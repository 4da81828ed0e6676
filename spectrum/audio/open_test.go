package audio

import (
	"context"
	"encoding/binary"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"unicode/utf16"

	"toneplumb/spectrum/internal/audiotest"
)

// utf16Text returns a text as some editors save it: UTF-16, little-endian, after a byte order mark.
func utf16Text(text string) []byte {
	b := []byte("\xFF\xFE")
	for _, c := range utf16.Encode([]rune(text)) {
		b = binary.LittleEndian.AppendUint16(b, c)
	}
	return b
}

func TestOpenRefuses(t *testing.T) {
	words := []byte("Dear all, the bounce is in the other folder, sorry! See you on Tuesday, and bring headphones.\n")
	noise := make([]byte, 5000)
	for i := range noise {
		noise[i] = byte(i * i >> 3)
	}
	for _, row := range []struct {
		name string
		data []byte
		want string
	}{
		{"empty", nil, "is empty"},
		{"text", words, "is a text file, not a recording"},
		{"text in UTF-16", utf16Text(string(words)), "is a text file, not a recording"},
		{"one byte", []byte{7}, "is not a recording that can be read"},
		{"noise", noise, "is not a recording that can be read"},
		{"FLAC cut in its header", []byte("fLaC\x80\x00\x00\x22abc"), "is a FLAC file whose header is damaged or cut off"},
		{"only a tag", append([]byte("ID3\x04\x00\x00\x00\x00\x01\x00"), make([]byte, 200)...), "holds a title tag but no sound that can be read"},
		{"tag beyond the end", append([]byte("ID3\x04\x00\x00\x7F\x7F\x7F\x7F"), make([]byte, 200)...), "holds a title tag but no sound that can be read"},
		{"Ogg of nothing", []byte("OggS\x00\x02 and no more of it, this is no page at all"), "is an Ogg file with no sound in it that can be read"},
		{"M4A", []byte("\x00\x00\x00\x20ftypM4A \x00\x00\x00\x00"), "is an MP4 or M4A file, which cannot be read without ffmpeg"},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Setenv("PATH", "") // what a converter says of these is another test's
			_, err := Open(context.Background(), audiotest.WriteFile(t, "song.wav", row.data))
			audiotest.WantProblem(t, err, row.want)
		})
	}
}

func TestOpenRefusesWhatIsNoFile(t *testing.T) {
	dir := t.TempDir()
	for _, row := range []struct{ name, path, want string }{
		{"missing", filepath.Join(dir, "no such file.wav"), "does not exist"},
		{"folder", dir, "is a folder, not a recording"},
		{"device", os.DevNull, "is not an ordinary file"},
	} {
		t.Run(row.name, func(t *testing.T) {
			_, err := Open(context.Background(), row.path)
			audiotest.WantProblem(t, err, row.want)
		})
	}
	_, err := Open(context.Background(), filepath.Join(dir, "x.wav"))
	if !errors.Is(err, os.ErrNotExist) {
		t.Errorf("%v does not unwrap to os.ErrNotExist", err)
	}
}

func TestReadHonoursContext(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.wav")
	audiotest.WriteWAV(t, path, 44100, NewBlock(1, 500))
	ctx, cancel := context.WithCancel(context.Background())
	src, err := Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	defer src.Close()
	block := NewBlock(1, 10)
	if _, err := src.Read(block); err != nil {
		t.Fatal(err)
	}
	cancel()
	if n, err := src.Read(block); n != 0 || !errors.Is(err, context.Canceled) {
		t.Errorf("after cancel Read returned %d, %v", n, err)
	}
	if _, err := Open(ctx, path); !errors.Is(err, context.Canceled) {
		t.Errorf("after cancel Open returned %v", err)
	}
}

// A Windows path is quoted unchanged; characters that cannot be printed are escaped.
func TestQuote(t *testing.T) {
	for text, want := range map[string]string{
		`C:\mixes\rough mix.wav`: `"C:\mixes\rough mix.wav"`,
		`\\desk\mixes\à.wav`:     `"\\desk\mixes\à.wav"`,
		"a\nb\x1b[2J.wav":        `"a\nb\x1b[2J.wav"`,
		`a "b".wav`:              `"a \"b\".wav"`,
	} {
		if got := Quote(text); got != want {
			t.Errorf("%s: want %s", got, want)
		}
	}
}

// Lost sound is remarked on, and whether it is only the last moment of minutes.
func TestAMomentLost(t *testing.T) {
	const rateHz = 8000
	for _, c := range []struct {
		of, lost int // frames
		moment   bool
	}{{61 * rateHz, rateHz/10 - 1, true}, {61 * rateHz, rateHz / 10, false}, {2 * rateHz, 1, false}} {
		path := filepath.Join(t.TempDir(), "short.wav")
		audiotest.WriteWAV16(t, path, rateHz, [][]float64{make([]float64, c.of)})
		info, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.Truncate(path, info.Size()-2*int64(c.lost)); err != nil {
			t.Fatal(err)
		}
		src := openFile(t, path)
		audiotest.DecodeAll(t, src, 4096)
		if w := src.Warnings(); len(w) != 1 || w[0].IsMoment() != c.moment {
			t.Errorf("%d of %d frames lost: %v", c.lost, c.of, w)
		}
	}
}
