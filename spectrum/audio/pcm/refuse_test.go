package pcm

import (
	"testing"

	"toneplumb/spectrum/internal/audiotest"
)

func TestRefuses(t *testing.T) {
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
	for _, row := range []struct {
		name string
		data []byte
		want string
	}{
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
	} {
		t.Run(row.name, func(t *testing.T) {
			audiotest.WantProblem(t, opener.Refuse(t, row.data), row.want)
		})
	}
}
