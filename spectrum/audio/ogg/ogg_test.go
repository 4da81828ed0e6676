package ogg

import (
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/internal/audiotest"
)

func TestVorbisAgainstFFmpeg(t *testing.T) {
	for _, row := range []struct {
		name             string
		rateHz, channels int
		level            float64
		args             []string
	}{
		{"q5", 44100, 2, 0.4, []string{"-q:a", "5"}},
		{"q0", 44100, 2, 0.4, []string{"-q:a", "0"}},
		{"q10 at 48 kHz", 48000, 2, 0.4, []string{"-q:a", "10"}},
		{"mono at 22.05 kHz", 22050, 1, 0.4, []string{"-q:a", "2"}},
		{"96 kHz", 96000, 2, 0.4, []string{"-q:a", "6"}},
		{"above full scale", 44100, 2, 1.9, []string{"-q:a", "8"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			const sec = 6.3 // several pages
			path, _ := audiotest.FFmpegEncode(t, row.rateHz, row.channels, sec, row.level, "a.ogg", append(row.args, "-c:a", "libvorbis")...)
			got := checkOgg(t, path, "Vorbis", row.rateHz, row.channels, int(sec*float64(row.rateHz)))
			want := audiotest.FFmpegDecode(t, path, row.channels)
			if db := audiotest.RelativeDB(t, got, want); !(db <= audiotest.OggDB) {
				t.Errorf("%.1f dB from ffmpeg, want at most %.0f", db, audiotest.OggDB)
			} else {
				t.Logf("%.1f dB", db)
			}
			peak := 0.0
			for _, x := range got[0] {
				peak = max(peak, math.Abs(x))
			}
			if row.level > 1 && peak <= 1 {
				t.Errorf("peak %.3f: what is above full scale is cut off", peak)
			}
		})
	}
}

// checkOgg opens and decodes a file, which must be complete.
func checkOgg(t *testing.T, path, encoding string, rateHz, channels, frames int) [][]float64 {
	t.Helper()
	src := opener.OpenFile(t, path)
	f := src.Format()
	if f.Container != "Ogg" || f.Encoding != encoding || f.RateHz != rateHz || f.Channels != channels || !f.Lossy || f.Bits != 0 || f.Frames != int64(frames) {
		t.Errorf("format %+v", f)
	}
	got := audiotest.DecodeAll(t, src, 1000)
	if len(got[0]) != frames {
		t.Errorf("%d frames, the encoder had %d", len(got[0]), frames)
	}
	audiotest.NoWarnings(t, src)
	return got
}

func TestOpusAgainstLibopus(t *testing.T) {
	for _, row := range []struct {
		name     string
		channels int
		args     []string
	}{
		{"128 kbit/s", 2, []string{"-b:a", "128k"}},
		{"64 kbit/s", 2, []string{"-b:a", "64k"}},
		{"mono 64 kbit/s", 1, []string{"-b:a", "64k"}},
		{"320 kbit/s", 2, []string{"-b:a", "320k"}},
		{"constant rate", 2, []string{"-b:a", "96k", "-vbr", "off"}},
		{"frames of 2.5 ms", 2, []string{"-b:a", "96k", "-frame_duration", "2.5"}},
		{"frames of 60 ms", 2, []string{"-b:a", "96k", "-frame_duration", "60"}},
		{"low delay", 2, []string{"-b:a", "96k", "-application", "lowdelay"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			const sec = 5.21
			path, _ := audiotest.FFmpegEncode(t, opusRateHz, row.channels, sec, 0.4, "a.opus", append(row.args, "-c:a", "libopus")...)
			got := checkOgg(t, path, "Opus", opusRateHz, row.channels, int(sec*opusRateHz))
			if db := audiotest.RelativeDB(t, got, audiotest.LibopusDecode(t, path, row.channels)); !(db <= audiotest.OggDB) {
				t.Errorf("%.1f dB from libopus, want at most %.0f", db, audiotest.OggDB)
			} else {
				t.Logf("%.1f dB", db)
			}
		})
	}
}

func TestOpusGain(t *testing.T) {
	_, data := audiotest.FFmpegEncode(t, opusRateHz, 1, 1, 0.2, "a.opus", "-c:a", "libopus")
	plain := audiotest.DecodeAll(t, opener.OpenFile(t, audiotest.WriteFile(t, "a.opus", data)), 1000)
	i := strings.Index(string(data), "OpusHead")
	const gainDB = -6.0
	binary.LittleEndian.PutUint16(data[i+16:], uint16(0x10000+gainDB*256))
	data = audiotest.SealOgg(data)
	got := audiotest.DecodeAll(t, opener.OpenFile(t, audiotest.WriteFile(t, "a.opus", data)), 1000)
	want := codec.NewBlock(1, len(plain[0]))
	for i, x := range plain[0] {
		want[0][i] = x * math.Pow(10, gainDB/20)
	}
	const tolerance = 1e-7 // 32-bit floats
	if largest, _ := audiotest.Difference(t, got, want); largest > tolerance {
		t.Errorf("differs by %g from the plain sound with %g dB", largest, gainDB)
	}
}

func TestOggDamage(t *testing.T) {
	for _, kind := range []struct{ name, codec string }{{"a.ogg", "libvorbis"}, {"a.opus", "libopus"}} {
		const rateHz = opusRateHz
		_, data := audiotest.FFmpegEncode(t, rateHz, 2, 12, 0.4, kind.name, "-c:a", kind.codec, "-b:a", "128k")
		_, second := audiotest.FFmpegEncode(t, rateHz, 2, 2, 0.4, kind.name, "-c:a", kind.codec, "-serial_offset", "77")
		clean := audiotest.DecodeAll(t, opener.OpenFile(t, audiotest.WriteFile(t, kind.name, data)), 4096)
		other := audiotest.SplitOgg(t, second)
		pages := audiotest.SplitOgg(t, data)
		for i := range other { // another stream's number
			other[i][14] ^= 0x55
			other[i] = audiotest.SealOgg(other[i])
		}
		flip := append([]byte(nil), data...)
		flip[len(flip)/2] ^= 0x10
		n := len(pages)
		for _, row := range []struct {
			name   string
			data   []byte
			frames int // 0: fewer than all; -1: not known
			want   string
		}{
			{"cut off", data[:len(data)/2], 0, "{cut-off "},
			{"cut off between pages", slices.Concat(pages[:n-1]...), 0, "{no-end-mark 1"},
			{"one bit", flip, len(clean[0]), "{silenced "},
			{"a page missing", slices.Concat(slices.Concat(pages[:n/2]...), slices.Concat(pages[n/2+1:]...)), len(clean[0]), "{silenced "},
			{"noise between pages", slices.Concat(slices.Concat(pages[:n/2]...), []byte("OggS what is this?"), slices.Concat(pages[n/2:]...)), len(clean[0]), ""},
			{"a long hole", slices.Concat(data[:len(data)/4], data[len(data)*3/4:]), len(clean[0]), "{silenced "},
			{"start missing", slices.Concat(slices.Concat(pages[:2]...), slices.Concat(pages[2+n/3:]...)), 0, "{no-start 0 0 0 0 }"},
			{"another behind", slices.Concat(data, slices.Concat(other...)), len(clean[0]), "{only-first 12 0 0 0 }"},
			{"another beside", slices.Concat(pages[0], other[0], slices.Concat(other[1:]...), slices.Concat(pages[1:]...)), len(clean[0]), "{side-by-side 0 0 0 2 }"},
			{"a tag before", append([]byte("ID3\x04\x00\x00\x00\x00\x00\x14twenty bytes of title"[:30]), data...), len(clean[0]), ""},
			{"rubbish behind", append(append([]byte(nil), data...), make([]byte, 1000)...), len(clean[0]), ""},
		} {
			t.Run(kind.codec+", "+row.name, func(t *testing.T) {
				src := opener.OpenFile(t, audiotest.WriteFile(t, kind.name, row.data))
				announced := src.Format().Frames
				got := audiotest.DecodeAll(t, src, 1000)
				if row.frames > 0 && len(got[0]) != row.frames || row.frames == 0 && (len(got[0]) == 0 || len(got[0]) >= len(clean[0])) {
					t.Errorf("%d frames of %d, want %d", len(got[0]), len(clean[0]), row.frames)
				}
				if announced >= 0 && announced != int64(len(got[0])) {
					t.Errorf("announced %d frames, got %d", announced, len(got[0]))
				}
				w := fmt.Sprint(src.Warnings())
				if row.want == "" && w != "[]" || !strings.Contains(w, row.want) {
					t.Errorf("warnings %q, want %q", w, row.want)
				}
				// The end is where it was: after damage the sound stays in its place.
				const tail, tolerance = 4800, 1e-3 // 0.1 s; Opus takes a while to be exactly where it was
				if row.frames > 0 {
					for i := len(got[0]) - tail; i < len(got[0]); i++ {
						if d := math.Abs(got[0][i] - clean[0][i]); d > tolerance {
							t.Fatalf("frame %d is off by %g", i, d)
						}
					}
				}
			})
		}
	}
}

// One recording after another with the same serial number, as in files that were joined by
// hand.
func TestOggChainOfOneNumber(t *testing.T) {
	const rateHz = opusRateHz
	for name, codec := range map[string]string{"a.ogg": "libvorbis", "a.opus": "libopus"} {
		_, first := audiotest.FFmpegEncode(t, rateHz, 1, 12, 0.4, name, "-c:a", codec)
		_, second := audiotest.FFmpegEncode(t, rateHz, 1, 2, 0.4, name, "-c:a", codec)
		others := audiotest.SplitOgg(t, second)
		for i := range others {
			copy(others[i][14:18], first[14:18])
			others[i] = audiotest.SealOgg(others[i])
		}
		src := opener.OpenFile(t, audiotest.WriteFile(t, name, slices.Concat(first, slices.Concat(others...))))
		if got := audiotest.DecodeAll(t, src, 4096); len(got[0]) != 12*rateHz {
			t.Errorf("%s: %d frames, want %d", codec, len(got[0]), 12*rateHz)
		}
		if w, want := fmt.Sprint(src.Warnings()), "[{only-first 12 0 0 0 }]"; w != want {
			t.Errorf("%s: warnings %s, want %s", codec, w, want)
		}
	}
}

func TestOggShort(t *testing.T) {
	for _, frames := range []int{1, 100, 960, 5000} {
		for name, codec := range map[string]string{"a.ogg": "libvorbis", "a.opus": "libopus"} {
			sec := (float64(frames) + 0.5) / opusRateHz
			path, _ := audiotest.FFmpegEncode(t, opusRateHz, 1, sec, 0.4, name, "-c:a", codec)
			src := opener.OpenFile(t, path)
			if got := audiotest.DecodeAll(t, src, 333); len(got[0]) != frames {
				t.Errorf("%d frames of %s, want %d", len(got[0]), codec, frames)
			}
		}
	}
}

// A comment as long as a picture is skipped.
func TestOggBigComment(t *testing.T) {
	_, data := audiotest.FFmpegEncode(t, 44100, 2, 3, 0.4, "a.ogg", "-c:a", "libvorbis", "-metadata", "picture="+strings.Repeat("ABCD", 30000))
	const want = 3 * 44100
	if got := audiotest.DecodeAll(t, opener.OpenFile(t, audiotest.WriteFile(t, "a.ogg", data)), 1000); len(got[0]) != want {
		t.Errorf("%d frames, want %d", len(got[0]), want)
	}
}

// The silence that replaces missing sound is limited.
func TestOggLongHole(t *testing.T) {
	const rateHz, sec = 8000, 200
	_, data := audiotest.FFmpegEncode(t, rateHz, 1, sec, 0.4, "a.ogg", "-c:a", "libvorbis", "-q:a", "0")
	pages := audiotest.SplitOgg(t, data)
	n := len(pages)
	src := opener.OpenFile(t, audiotest.WriteFile(t, "a.ogg", slices.Concat(slices.Concat(pages[:n/4]...), slices.Concat(pages[n*3/4:]...))))
	got := audiotest.DecodeAll(t, src, 1000)
	if len(got[0]) > 120*rateHz {
		t.Errorf("%d frames of half the recording", len(got[0]))
	}
	if w := src.Warnings(); len(w) == 0 || w[0].Kind != codec.SoundMissing || w[0].LostSec < 60 {
		t.Errorf("warnings %+v", w)
	}
}

// Files that are not read here, without a converter.
func TestOggNeedsTool(t *testing.T) {
	six, _ := audiotest.FFmpegEncode(t, 48000, 6, 0.5, 0.4, "a.ogg", "-c:a", "libvorbis")
	sixOpus, _ := audiotest.FFmpegEncode(t, 48000, 6, 0.5, 0.4, "b.opus", "-c:a", "libopus")
	flac, _ := audiotest.FFmpegEncode(t, 48000, 2, 0.5, 0.4, "c.ogg", "-c:a", "flac", "-sample_fmt", "s16")
	for path, want := range map[string]string{
		six:     "is an Ogg Vorbis file with 6 channels, which cannot be read without ffmpeg",
		sixOpus: "is an Opus file with 6 channels, which cannot be read without ffmpeg",
		flac:    "is a FLAC stream in an Ogg file, which cannot be read without ffmpeg",
	} {
		audiotest.WantProblem(t, opener.Refuse(t, audiotest.ReadFile(t, path)), want)
	}
}
