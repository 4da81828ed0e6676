package audio

import (
	"context"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/internal/audiotest"
	"toneplumb/spectrum/testkit"
)

func TestToolAgainstFFmpeg(t *testing.T) {
	testkit.Tool(t, "ffmpeg")
	testkit.Tool(t, "ffprobe")
	for _, row := range []struct {
		name      string
		container string
		encoding  string
		channels  int
		bits      int
		lossy     bool
		length    int // frames: 0 as encoded, -1 what ffmpeg makes of it
		args      []string
	}{
		{"aac.m4a", "MP4", "AAC", 2, 0, true, -1, []string{"-c:a", "aac"}},
		{"alac 16.m4a", "MP4", "ALAC", 2, 16, false, 0, []string{"-c:a", "alac", "-sample_fmt", "s16p"}},
		{"alac 24.m4a", "MP4", "ALAC", 2, 24, false, 0, []string{"-c:a", "alac", "-sample_fmt", "s32p"}},
		{"sound.mov", "MP4", "PCM s24le", 2, 24, false, 0, []string{"-c:a", "pcm_s24le"}},
		{"stream.aac", "AAC", "AAC", 2, 0, true, -1, []string{"-c:a", "aac"}},
		{"a.wma", "Windows Media", "Windows Media Audio", 2, 0, true, -1, []string{"-c:a", "wmav2"}},
		{"layer2.mp2", "MP3", "MPEG layer II", 2, 0, true, -1, []string{"-c:a", "mp2"}},
		{"flac.ogg", "Ogg", "FLAC", 2, 16, false, 0, []string{"-c:a", "flac", "-sample_fmt", "s16"}},
		{"six.ogg", "Ogg", "Vorbis", 6, 0, true, -1, []string{"-c:a", "libvorbis"}},
		{"a.w64", "W64", "PCM s16le", 2, 16, false, 0, []string{"-c:a", "pcm_s16le"}},
		{"a.caf", "CAF", "PCM s24be", 2, 24, false, 0, []string{"-c:a", "pcm_s24be"}},
		{"a.wv", "WV", "WAVPACK", 2, 16, false, 0, []string{"-c:a", "wavpack", "-sample_fmt", "s16p"}},
		{"a.tta", "TTA", "TTA", 2, 16, false, 0, []string{"-c:a", "tta", "-sample_fmt", "s16"}},
		{"a.au", "AU", "PCM mulaw", 2, 0, true, 0, []string{"-c:a", "pcm_mulaw"}},
		{"a.ac3", "AC3", "AC3", 2, 0, true, -1, []string{"-c:a", "ac3"}},
		{"a.mka", "Matroska", "Vorbis", 2, 0, true, -1, []string{"-c:a", "libvorbis"}},
		{"adpcm.wav", "WAV", "ADPCM_MS", 2, 0, true, -1, []string{"-c:a", "adpcm_ms"}},
		{"ulaw.aifc.aif", "AIFF", "PCM mulaw", 2, 0, true, 0, []string{"-c:a", "pcm_mulaw"}},
		{"float.caf", "CAF", "PCM f32le", 2, 0, false, 0, []string{"-c:a", "pcm_f32le"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			const rateHz, sec = 44100, 2
			path, _ := audiotest.FFmpegEncode(t, rateHz, row.channels, sec, 0.4, row.name, row.args...)
			src := openFile(t, path)
			f := src.Format()
			if f.Container != row.container || f.Encoding != row.encoding || f.RateHz != map[bool]int{true: rateHz, false: f.RateHz}[row.encoding != "Opus"] ||
				f.Channels != row.channels || f.Bits != row.bits || f.Lossy != row.lossy {
				t.Errorf("format %+v", f)
			}
			got := audiotest.DecodeAll(t, src, 1000)
			audiotest.NoWarnings(t, src)
			if row.length == 0 && len(got[0]) != sec*rateHz {
				t.Errorf("%d frames, want %d", len(got[0]), sec*rateHz)
			}
			audiotest.AsFFmpeg(t, path, got)
			// slack: stated durations are rounded, or leave an encoder's padding out; 0.1 s of 2.
			const slack = rateHz / 10
			if n := int(f.Frames) - len(got[0]); f.Frames >= 0 && (n > slack || n < -slack) {
				t.Errorf("announced %d frames, got %d", f.Frames, len(got[0]))
			}
		})
	}
}

// File names that a program could mistake for an option or an address.
func TestToolNames(t *testing.T) {
	testkit.Tool(t, "ffprobe")
	_, data := audiotest.FFmpegEncode(t, 44100, 1, 0.5, 0.4, "a.m4a", "-c:a", "alac")
	for _, name := range []string{"-i.m4a", "-", "http:song.m4a", "a:b.m4a", "pipe:0", "two words é.m4a", "per%cent%03d.m4a", "quote'\".m4a", "line\nbreak.m4a", "latin\xE9.m4a"} {
		t.Chdir(t.TempDir())
		if err := os.WriteFile(name, data, 0o600); err != nil {
			t.Fatal(err)
		}
		src, err := Open(context.Background(), name)
		if err != nil {
			t.Errorf("%q: %v", name, err)
			continue
		}
		const want = 22050
		if got := audiotest.DecodeAll(t, src, 1000); len(got[0]) != want {
			t.Errorf("%q: %d frames, want %d", name, len(got[0]), want)
		}
	}
}

func TestToolRefuses(t *testing.T) {
	testkit.Tool(t, "ffmpeg")
	testkit.Tool(t, "ffprobe")
	_, data := audiotest.FFmpegEncode(t, 44100, 2, 2, 0.4, "a.m4a", "-c:a", "alac")
	noise := make([]byte, 50000)
	for i := range noise {
		noise[i] = byte(i * i >> 3)
	}
	video := filepath.Join(t.TempDir(), "v.mp4")
	audiotest.Run(t, "ffmpeg", "-v", "error", "-f", "lavfi", "-i", "color=size=32x32:duration=0.2", "-c:v", "mpeg4", video)
	silent, err := os.ReadFile(video)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		name, want string
		data       []byte
	}{
		{"cut off before its index", "is an MP4 or M4A file that ffmpeg cannot read: moov atom not found", data[:len(data)/2]},
		{"noise", "is not a recording that can be read", noise},
		{"text", "is a text file, not a recording", []byte("ffconcat version 1.0\nfile '/etc/hostname'\n")},
		{"playlist", "is a text file, not a recording", []byte("#EXTM3U\n#EXT-X-TARGETDURATION:10\n/etc/hostname\n")},
		{"video without sound", "is an MP4 or M4A file that ffmpeg cannot read: there is no sound in it", silent},
	} {
		t.Run(row.name, func(t *testing.T) {
			_, err := Open(context.Background(), audiotest.WriteFile(t, "x.m4a", row.data))
			audiotest.WantProblem(t, err, row.want)
		})
	}
}

func TestToolCutOff(t *testing.T) {
	testkit.Tool(t, "ffprobe")
	_, data := audiotest.FFmpegEncode(t, 44100, 2, 12, 0.4, "a.m4a", "-c:a", "alac", "-movflags", "+faststart")
	src := openFile(t, audiotest.WriteFile(t, "a.m4a", data[:len(data)/2]))
	got := audiotest.DecodeAll(t, src, 1000)
	if n := len(got[0]); n < 4*44100 || n > 8*44100 {
		t.Errorf("%d frames of half a file", n)
	}
	if w := src.Warnings(); len(w) == 0 || w[len(w)-1].Kind != codec.StopsEarly {
		t.Errorf("warnings %v", w)
	}
}

func TestToolFails(t *testing.T) {
	testkit.Tool(t, "ffprobe")
	path, _ := audiotest.FFmpegEncode(t, 44100, 1, 2, 0.4, "a.m4a", "-c:a", "alac")
	ffprobe, _ := exec.LookPath("ffprobe")
	dir := t.TempDir()
	audiotest.Script(t, dir, "ffprobe", "exec "+ffprobe+" \"$@\"\n")
	t.Setenv("PATH", dir+":/bin:/usr/bin")

	audiotest.Script(t, dir, "ffmpeg", "head -c 40000 /dev/zero; echo '[alac @ 0x55] Syntax error in the 4th frame.' >&2; exit 3\n")
	src := openFile(t, path)
	if got := audiotest.DecodeAll(t, src, 1000); len(got[0]) != 10000 {
		t.Errorf("%d frames, want 10000", len(got[0]))
	}
	want := codec.At(codec.FFmpegStopped, 10000, 44100)
	want.Text = "syntax error in the 4th frame"
	if w := src.Warnings(); len(w) != 2 || w[0] != want || w[1].Kind != codec.StopsEarly {
		t.Errorf("warnings %v, want %v", w, want)
	}

	audiotest.Script(t, dir, "ffmpeg", "echo \"file:"+path+": Oh dear\" >&2; exit 1\n")
	_, err := Open(context.Background(), path)
	audiotest.WantProblem(t, err, "is an MP4 or M4A file that ffmpeg cannot read: oh dear")
}

// afconvert exists on macOS only; here a script that does the same with ffmpeg replaces it.
func TestAfconvert(t *testing.T) {
	path, _ := audiotest.FFmpegEncode(t, 44100, 2, 2, 0.4, "-a.m4a", "-c:a", "alac")
	want := audiotest.FFmpegDecode(t, "file:"+path, 2)
	ffmpeg, _ := exec.LookPath("ffmpeg")
	dir, temp := t.TempDir(), t.TempDir()
	audiotest.Script(t, dir, "afconvert", "[ \"$1 $2 $3 $4\" = '-f WAVE -d LEF32' ] || exit 2\nexec "+ffmpeg+" -v error -nostdin -i \"$5\" -c:a pcm_f32le -f wav \"$6\"\n")
	audiotest.Script(t, dir, "afinfo", "echo 'File type ID:   m4af'; echo 'Data format:     2 ch,  44100 Hz, alac (0x00000001) from 16-bit source'\n")
	t.Setenv("PATH", dir)
	t.Setenv("TMPDIR", temp)
	src := openFile(t, path)
	if f := src.Format(); f.Container != "M4AF" || f.Encoding != "ALAC" || f.Lossy || f.Channels != 2 || f.RateHz != 44100 || f.Frames != 2*44100 {
		t.Errorf("format %+v", f)
	}
	got := audiotest.DecodeAll(t, src, 1000)
	if largest, _ := audiotest.Difference(t, got, want); largest != 0 {
		t.Errorf("differs by %g", largest)
	}
	if left, _ := os.ReadDir(temp); len(left) > 0 {
		t.Errorf("%d temporary files are left", len(left))
	}
	audiotest.Script(t, dir, "afconvert", "echo 'Error: ExtAudioFileOpen failed (typ?)' >&2; exit 1\n")
	_, err := Open(context.Background(), path)
	audiotest.WantProblem(t, err, "is an MP4 or M4A file that afconvert cannot read: error: ExtAudioFileOpen failed (typ?)")
	if left, _ := os.ReadDir(temp); len(left) > 0 {
		t.Errorf("%d temporary files are left", len(left))
	}
}

func TestNoTool(t *testing.T) {
	path, _ := audiotest.FFmpegEncode(t, 44100, 1, 0.5, 0.4, "a.m4a", "-c:a", "aac")
	t.Setenv("PATH", "")
	_, err := Open(context.Background(), path)
	audiotest.WantProblem(t, err, "is an MP4 or M4A file, which cannot be read without ffmpeg")
	var e *codec.Error
	if errors.As(err, &e) && e.Hint != codec.HintTool {
		t.Errorf("hint %q", e.Hint)
	}
}

func TestToolMemory(t *testing.T) {
	testkit.Tool(t, "ffprobe")
	path, _ := audiotest.FFmpegEncode(t, 44100, 2, 60, 0.4, "a.m4a", "-c:a", "alac")
	src := openFile(t, path)
	defer src.Close()
	block := NewBlock(2, 16384)
	before := audiotest.Allocated()
	for {
		if _, err := src.Read(block); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
	const most = 1 << 20 // a minute takes 21 MB decoded
	if n := audiotest.Allocated() - before; n > most {
		t.Errorf("%d bytes of memory while reading", n)
	}
}
