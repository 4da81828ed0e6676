package mp3

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"toneplumb/spectrum/internal/audiotest"
	"toneplumb/spectrum/testkit"
)

// lsb16 is one step of 16 bits, the largest difference that the project accepts. ISO/IEC 11172-4 accepts two from a
// full-accuracy decoder (from memory).
const lsb16 = 1.0 / 32768

// lameDecode decodes with the oracle at 24 kHz, LAME. There ffmpeg 5.1 has the edge of one scale factor band at line 330;
// LAME 3.100, which encodes most files, and mpg123 have it at 332. The end is not trimmed.
func lameDecode(t testing.TB, path string, channels int) [][]float64 {
	wav := filepath.Join(t.TempDir(), "lame.wav")
	audiotest.Run(t, "lame", "--quiet", "--decode", path, wav)
	return audiotest.FFmpegDecode(t, wav, channels)
}

func TestMP3AgainstFFmpeg(t *testing.T) {
	testkit.Tool(t, "lame")
	testkit.Tool(t, "ffmpeg")
	for _, row := range []struct {
		name     string
		rateHz   int
		channels int
		args     []string
		oracle   func(t testing.TB, path string, channels int) [][]float64
	}{
		{"CBR 128 joint stereo", 44100, 2, []string{"-b", "128"}, audiotest.FFmpegDecode},
		{"CBR 320", 44100, 2, []string{"-b", "320"}, audiotest.FFmpegDecode},
		{"CBR 320 at 48 kHz", 48000, 2, []string{"-b", "320"}, audiotest.FFmpegDecode},
		{"CBR 320 at 32 kHz", 32000, 2, []string{"-b", "320"}, audiotest.FFmpegDecode},
		{"CBR 32 at 44.1 kHz", 44100, 1, []string{"-b", "32", "--resample", "44.1"}, audiotest.FFmpegDecode},
		{"VBR V2", 44100, 2, []string{"-V", "2"}, audiotest.FFmpegDecode},
		{"VBR V0", 44100, 2, []string{"-V", "0"}, audiotest.FFmpegDecode},
		{"ABR 160 plain stereo", 44100, 2, []string{"--abr", "160", "-m", "s"}, audiotest.FFmpegDecode},
		{"dual channels", 44100, 2, []string{"-b", "160", "-m", "d"}, audiotest.FFmpegDecode},
		{"forced mid-side", 44100, 2, []string{"-b", "160", "-m", "f"}, audiotest.FFmpegDecode},
		{"mono", 44100, 1, []string{"-b", "96"}, audiotest.FFmpegDecode},
		{"with checksums", 44100, 2, []string{"-b", "128", "-p"}, audiotest.FFmpegDecode},
		{"no information frame", 44100, 2, []string{"-b", "128", "-t"}, audiotest.FFmpegDecode},
		{"48 kHz VBR", 48000, 2, []string{"-V", "4"}, audiotest.FFmpegDecode},
		{"22.05 kHz 64", 22050, 2, []string{"-b", "64"}, audiotest.FFmpegDecode},
		{"22.05 kHz 32 mono", 22050, 1, []string{"-b", "32"}, audiotest.FFmpegDecode},
		{"22.05 kHz 80", 22050, 2, []string{"-b", "80"}, audiotest.FFmpegDecode},
		{"22.05 kHz 160", 22050, 2, []string{"-b", "160"}, audiotest.FFmpegDecode},
		{"22.05 kHz VBR", 22050, 2, []string{"-V", "2"}, audiotest.FFmpegDecode},
		{"24 kHz 64", 24000, 2, []string{"-b", "64"}, lameDecode},
		{"24 kHz 112", 24000, 2, []string{"-b", "112"}, lameDecode},
		{"12 kHz", 12000, 2, []string{"-b", "40"}, audiotest.FFmpegDecode},
		{"11.025 kHz VBR", 11025, 2, []string{"-V", "4"}, audiotest.FFmpegDecode},
		{"8 kHz mono", 8000, 1, []string{"-b", "16"}, audiotest.FFmpegDecode},
		{"16 kHz mono", 16000, 1, []string{"-b", "24"}, audiotest.FFmpegDecode},
		{"big picture tag", 44100, 2, []string{"-b", "128", "--add-id3v2", "--pad-id3v2-size", "300000", "--tt", "Tün"}, audiotest.FFmpegDecode},
		{"both tags", 44100, 2, []string{"-b", "128", "--tt", "x", "--ta", "y"}, audiotest.FFmpegDecode},
	} {
		t.Run(row.name, func(t *testing.T) {
			dir := t.TempDir()
			wav, file := filepath.Join(dir, "a.wav"), filepath.Join(dir, "a.mp3")
			audiotest.WriteWAV16(t, wav, row.rateHz, audiotest.Tune(row.rateHz, row.channels, 1.7, 0.4))
			audiotest.Run(t, "lame", append(append([]string{"--quiet"}, row.args...), wav, file)...)
			src := opener.OpenFile(t, file)
			f := src.Format()
			if f.Container != "MP3" || f.RateHz != row.rateHz || f.Channels != row.channels || !f.Lossy || f.Bits != 0 {
				t.Errorf("format %+v", f)
			}
			got := audiotest.DecodeAll(t, src, 1000)
			audiotest.NoWarnings(t, src)
			if f.Frames >= 0 && f.Frames != int64(len(got[0])) {
				t.Errorf("announced %d frames, got %d", f.Frames, len(got[0]))
			}
			const tolerance = lsb16
			aligned := audiotest.FFmpegDecode(t, file, row.channels)
			if len(got[0]) != len(aligned[0]) {
				t.Fatalf("%d frames, ffmpeg has %d", len(got[0]), len(aligned[0]))
			}
			want := row.oracle(t, file, row.channels)
			for ch := range want {
				want[ch] = want[ch][:len(got[ch])]
			}
			largest, rms := audiotest.Difference(t, got, want)
			t.Logf("largest %.2f, rms %.2f LSB16", largest/lsb16, rms/lsb16)
			if largest > tolerance {
				t.Errorf("largest difference %.2f LSB16, want at most %.2f", largest/lsb16, tolerance/lsb16)
			}
		})
	}
}

// mp3Of encodes a tune with lame and returns the file's bytes.
func mp3Of(t testing.TB, rateHz, channels int, sec float64, args ...string) []byte {
	t.Helper()
	testkit.Tool(t, "lame")
	dir := t.TempDir()
	wav, file := filepath.Join(dir, "a.wav"), filepath.Join(dir, "a.mp3")
	audiotest.WriteWAV16(t, wav, rateHz, audiotest.Tune(rateHz, channels, sec, 0.4))
	audiotest.Run(t, "lame", append(append([]string{"--quiet"}, args...), wav, file)...)
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func TestMP3Trimming(t *testing.T) {
	const rateHz, sec = 44100, 2.5
	want := audiotest.Tune(rateHz, 2, sec, 0.4)
	data := mp3Of(t, rateHz, 2, sec, "-b", "320")
	src := opener.OpenFile(t, audiotest.WriteFile(t, "a.mp3", data))
	got := audiotest.DecodeAll(t, src, 1<<12)
	if len(got[0]) != len(want[0]) {
		t.Fatalf("%d frames, the encoder had %d", len(got[0]), len(want[0]))
	}
	// At 320 kbit/s the coding noise stays 30 dB under the tune; one frame of shift would exceed this. Our choice.
	const tolerance = 0.02
	if _, rms := audiotest.Difference(t, got, want); rms > tolerance {
		t.Errorf("rms difference from the encoder's input %.4f, want at most %.4f", rms, tolerance)
	}

	// An information frame that has lost its LAME tag: only that frame is dropped.
	i := bytes.Index(data, []byte("Info"))
	noTag := append([]byte(nil), data...)
	copy(noTag[i+120:], "none")
	path := audiotest.WriteFile(t, "b.mp3", noTag)
	src = opener.OpenFile(t, path)
	got = audiotest.DecodeAll(t, src, 1<<12)
	if n, want := len(got[0]), len(audiotest.FFmpegDecode(t, path, 2)[0]); n != want || src.Format().Frames != int64(n) {
		t.Errorf("without the tag %d frames, announced %d, ffmpeg has %d", n, src.Format().Frames, want)
	}
}

// Tags of any size around a stream do not change its sound.
func TestMP3Tags(t *testing.T) {
	data := mp3Of(t, 44100, 2, 3, "-b", "128")
	want := audiotest.DecodeAll(t, opener.OpenFile(t, audiotest.WriteFile(t, "a.mp3", data)), 1000)
	picture := make([]byte, 5<<20)
	for i := range picture {
		picture[i] = byte(i * i >> 7) // with false frame headers in it
	}
	n := len(picture)
	id3v2 := append([]byte{'I', 'D', '3', 4, 0, 0, byte(n >> 21 & 127), byte(n >> 14 & 127), byte(n >> 7 & 127), byte(n & 127)}, picture...)
	id3v1 := append([]byte("TAG"), make([]byte, 125)...)
	item := []byte("\x04\x00\x00\x00\x00\x00\x00\x00Title\x00abcd")
	foot := func(flags byte) []byte {
		le32 := binary.LittleEndian.AppendUint32
		b := le32(le32(le32([]byte("APETAGEX"), 2000), uint32(len(item)+32)), 1)
		return append(b, 0, 0, 0, flags, 0, 0, 0, 0, 0, 0, 0, 0)
	}
	for _, row := range []struct {
		name string
		data []byte
	}{
		{"ID3v2 of 5 MB", slices.Concat(id3v2, data)},
		{"two ID3v2", slices.Concat(id3v2[:10+n], []byte("ID3\x03\x00\x00\x00\x00\x00\x08TIT2abcd"), data)},
		{"ID3v1", slices.Concat(data, id3v1)},
		{"APE", slices.Concat(data, item, foot(0))},
		{"APE with a head", slices.Concat(data, foot(0xA0), item, foot(0x80))},
		{"APE and ID3v1", slices.Concat(data, item, foot(0), id3v1)},
		{"all", slices.Concat(id3v2, data, foot(0xA0), item, foot(0x80), id3v1)},
		{"zeros before", slices.Concat(make([]byte, 4000), data)},
	} {
		t.Run(row.name, func(t *testing.T) {
			src := opener.OpenFile(t, audiotest.WriteFile(t, "a.mp3", row.data))
			got := audiotest.DecodeAll(t, src, 1000)
			if largest, _ := audiotest.Difference(t, got, want); largest != 0 {
				t.Errorf("differs by %g from the stream without tags", largest)
			}
			audiotest.NoWarnings(t, src)
		})
	}
}

// VBRI, the information frame of another encoder, gives the number of frames but no delays.
func TestMP3VBRI(t *testing.T) {
	data := mp3Of(t, 44100, 2, 3, "-V", "4")
	h, ok := ParseHeader(data)
	if !ok {
		t.Fatal("no header")
	}
	frames := int(readInfoFrame(h, data[:h.FrameLen()]).frameCount)
	clear(data[HeaderLen:h.FrameLen()])
	vbri := append([]byte("VBRI\x00\x01\x00\x00\x00\x00"), 0, 0, byte(len(data)>>8), byte(len(data)), 0, 0, byte(frames>>8), byte(frames))
	copy(data[36:], vbri)
	path := audiotest.WriteFile(t, "a.mp3", data)
	src := opener.OpenFile(t, path)
	want := len(audiotest.FFmpegDecode(t, path, 2)[0])
	if f := src.Format(); f.Frames != int64(frames*1152) || want != frames*1152 {
		t.Errorf("announced %d frames, want %d; ffmpeg has %d", f.Frames, frames*1152, want)
	}
	if got := audiotest.DecodeAll(t, src, 1000); len(got[0]) != want {
		t.Errorf("%d frames, ffmpeg has %d", len(got[0]), want)
	}
}

func TestMP3Damage(t *testing.T) {
	const rateHz = 44100
	data := mp3Of(t, rateHz, 2, 12, "-b", "128")
	clean := audiotest.DecodeAll(t, opener.OpenFile(t, audiotest.WriteFile(t, "a.mp3", data)), 4096)
	cut := func(from, to int) []byte { return append(append([]byte(nil), data[:from]...), data[to:]...) }
	noise := append([]byte(nil), data...)
	for i := range 3000 {
		noise[len(noise)/2+i] = byte(i * 37)
	}
	for _, row := range []struct {
		name   string
		data   []byte
		frames int // 0: between nothing and all
		want   string
	}{
		{"cut off", data[:len(data)/2], 0, "{stops-early "},
		{"a hole", cut(len(data)/2, len(data)/2+20000), 0, "{sound-missing "},
		{"noise inside", noise, 0, "{s"},
		{"begins in the middle", data[len(data)/2:], 0, ""},
		{"another rate behind", append(append([]byte(nil), data...), mp3Of(t, 48000, 2, 1, "-b", "128")...), len(clean[0]), "{format-changes "},
		{"tag in the middle", append(append(append([]byte(nil), data...), "ID3\x04\x00\x00\x00\x00\x00\x14twenty bytes of title"[:30]...), data...), 0, ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			src := opener.OpenFile(t, audiotest.WriteFile(t, "a.mp3", row.data))
			got := audiotest.DecodeAll(t, src, 1000)
			if len(got[0]) == 0 || row.frames > 0 && len(got[0]) != row.frames {
				t.Errorf("%d frames, want %d", len(got[0]), row.frames)
			}
			if row.name != "tag in the middle" && len(got[0]) > len(clean[0]) {
				t.Errorf("%d frames from a damaged copy of %d", len(got[0]), len(clean[0]))
			}
			// No burst where the reservoir is missing. The tune peaks at 0.5.
			const loudest = 0.9
			for ch := range got {
				for i, x := range got[ch] {
					if row.name != "noise inside" && math.Abs(x) > loudest {
						t.Fatalf("channel %d frame %d is %.2f", ch, i, x)
					}
				}
			}
			w := fmt.Sprint(src.Warnings())
			if row.want == "" && w != "[]" || !strings.Contains(w, row.want) {
				t.Errorf("warnings %q, want %q", w, row.want)
			}
		})
	}
}
