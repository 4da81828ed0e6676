package audio

import (
	"context"
	"encoding/binary"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf16"
)

// wantProblem checks that err is an Error with the problem, one line, a path and a hint.
func wantProblem(t *testing.T, err error, want string) {
	t.Helper()
	var e *Error
	if !errors.As(err, &e) {
		t.Fatalf("error %v (%T), want *Error", err, err)
	}
	if e.Problem != want {
		t.Errorf("problem %q, want %q", e.Problem, want)
	}
	if e.Path == "" || e.Hint == "" || strings.ContainsAny(e.Error()+e.Hint, "\n") || strings.HasSuffix(e.Hint, ".") {
		t.Errorf("error %q, hint %q", e, e.Hint)
	}
}

// utf16Text is a text as some editors save it: UTF-16, little-endian, after a byte order mark.
func utf16Text(text string) []byte {
	b := []byte("\xFF\xFE")
	for _, c := range utf16.Encode([]rune(text)) {
		b = binary.LittleEndian.AppendUint16(b, c)
	}
	return b
}

func TestOpenRefuses(t *testing.T) {
	words := []byte("Dear all, the bounce is in the other folder, sorry! See you on Tuesday, and bring headphones.\n")
	pcm := func(f wavFile) []byte {
		if f.tag == 0 {
			f.tag = tagPCM
		}
		if f.bits == 0 {
			f.bits = 16
		}
		if f.data == nil {
			f.data = make([]byte, 64)
		}
		f.dataSize = -1
		return f.bytes()
	}
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
		{"WAV of header only", []byte("RIFF\x00\x00\x00\x00WAVE"), "is a WAV file without a description of its sound (no fmt chunk)"},
		{"WAV without data", pcm(wavFile{channels: 2, rateHz: 44100, order: "fl"}), "is a WAV file with no sound in it"},
		{"WAV with empty data", pcm(wavFile{channels: 2, rateHz: 44100, order: "fel"}), "is a WAV file with no sound in it"},
		{"WAV at 0 Hz", pcm(wavFile{channels: 2}), "says it has a sample rate of 0 Hz: its header is damaged"},
		{"WAV at 3 GHz", pcm(wavFile{channels: 2, rateHz: 3e9}), "says it has a sample rate of 3000000000 Hz: its header is damaged"},
		{"WAV of no channels", pcm(wavFile{rateHz: 44100}), "says it has 0 channels: its header is damaged"},
		{"WAV of 65 channels", pcm(wavFile{rateHz: 44100, channels: 65, data: make([]byte, 1300)}), "says it has 65 channels: its header is damaged"},
		{"WAV with ADPCM", pcm(wavFile{rateHz: 44100, channels: 2, tag: 0x11}), "is a WAV file that holds ADPCM sound, not plain samples"},
		{"WAV with another tag", pcm(wavFile{rateHz: 44100, channels: 2, tag: 0x1234}), "is a WAV file that holds an unknown kind of (tag 0x1234) sound, not plain samples"},
		{"WAV with 16-bit float", pcm(wavFile{rateHz: 44100, channels: 2, tag: tagFloat}), "is a WAV file with 16-bit float samples in 2 bytes each, which cannot be read"},
		{"FLAC cut in its header", []byte("fLaC\x80\x00\x00\x22abc"), "is a FLAC file whose header is damaged or cut off"},
		{"only a tag", append([]byte("ID3\x04\x00\x00\x00\x00\x01\x00"), make([]byte, 200)...), "holds a title tag but no sound that can be read"},
		{"tag beyond the end", append([]byte("ID3\x04\x00\x00\x7F\x7F\x7F\x7F"), make([]byte, 200)...), "holds a title tag but no sound that can be read"},
		{"AIFF", []byte("FORM\x00\x00\x01\x00AIFFCOMM\x00\x00\x00\x12"), "is an AIFF file without a description of its sound (no COMM chunk)"},
		{"AIFF without data", aiffFile{channels: 2, bits: 16, order: "cx"}.bytes(), "is an AIFF file with no sound in it"},
		{"AIFF with empty data", aiffFile{channels: 2, bits: 16}.bytes(), "is an AIFF file with no sound in it"},
		{"AIFF data beyond the end", aiffFile{channels: 2, bits: 16, data: make([]byte, 64), offset: 0, size: 6}.bytes(), "is an AIFF file with no sound in it"},
		{"AIFF at 0 Hz", aiffFile{channels: 2, bits: 16, rateHz: 0.2, data: make([]byte, 64)}.bytes(), "says it has a sample rate of 0 Hz: its header is damaged"},
		{"AIFF at 3 GHz", aiffFile{channels: 2, bits: 16, rateHz: 1e300, data: make([]byte, 64)}.bytes(), "says it has a sample rate of 2147483647 Hz: its header is damaged"},
		{"AIFF of no channels", aiffFile{bits: 16, data: make([]byte, 64)}.bytes(), "says it has 0 channels: its header is damaged"},
		{"AIFF of 33 bits", aiffFile{channels: 1, bits: 33, data: make([]byte, 64)}.bytes(), "is an AIFF file with 33-bit samples, which cannot be read"},
		{"AIFF-C of another kind", aiffFile{kind: "what", channels: 1, bits: 16, data: make([]byte, 64)}.bytes(), "is an AIFF file that holds an unknown kind of (\"what\") sound, not plain samples"},
		{"AIFF-C with ADPCM", aiffFile{kind: "ima4", channels: 1, bits: 16, data: make([]byte, 68)}.bytes(), "is an AIFF file that holds ADPCM sound, not plain samples"},
		{"Ogg of nothing", []byte("OggS\x00\x02 and no more of it, this is no page at all"), "is an Ogg file with no sound in it that can be read"},
		{"M4A", []byte("\x00\x00\x00\x20ftypM4A \x00\x00\x00\x00"), "is an MP4 or M4A file, which cannot be read without ffmpeg"},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Setenv("PATH", "") // what a converter says of these is another test's
			_, err := Open(context.Background(), writeFile(t, "song.wav", row.data))
			wantProblem(t, err, row.want)
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
			wantProblem(t, err, row.want)
		})
	}
	_, err := Open(context.Background(), filepath.Join(dir, "x.wav"))
	if !errors.Is(err, os.ErrNotExist) {
		t.Errorf("%v does not unwrap to os.ErrNotExist", err)
	}
}

func TestReadHonoursContext(t *testing.T) {
	path := writeFile(t, "a.wav", wavFile{tag: tagPCM, channels: 1, rateHz: 44100, bits: 16, data: make([]byte, 1000), dataSize: -1}.bytes())
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
