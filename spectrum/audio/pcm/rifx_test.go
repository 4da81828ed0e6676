package pcm

import (
	"encoding/binary"
	"fmt"
	"path/filepath"
	"slices"
	"testing"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/internal/audiotest"
	"toneplumb/spectrum/testkit"
)

// Big-endian WAV files written by sox 14.4.2 against their little-endian twins, bit for bit.
func TestRIFXFromSox(t *testing.T) {
	testkit.Tool(t, "sox")
	dir := t.TempDir()
	for _, row := range []struct {
		name     string
		channels int
		args     []string
	}{
		{"8 bit", 1, []string{"-b", "8", "-e", "unsigned-integer"}},
		{"16 bit", 2, []string{"-b", "16"}},
		{"24 bit", 2, []string{"-b", "24"}},
		{"32 bit", 6, []string{"-b", "32"}},
		{"float", 2, []string{"-b", "32", "-e", "floating-point"}},
		{"double", 1, []string{"-b", "64", "-e", "floating-point"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			base := filepath.Join(dir, "base.wav")
			audiotest.WriteWAV(t, base, 44100, audiotest.Tune(44100, row.channels, 1.3, 0.5))
			var both [2]codec.Decoder
			for i, order := range []string{"-L", "-B"} {
				path := filepath.Join(dir, order+".wav")
				audiotest.Run(t, "sox", append(append([]string{"-D", base}, row.args...), order, path)...)
				both[i] = opener.OpenFile(t, path)
			}
			if both[0].Format() != both[1].Format() {
				t.Errorf("%+v, the twin %+v", both[1].Format(), both[0].Format())
			}
			want, got := audiotest.DecodeAll(t, both[0], 3000), audiotest.DecodeAll(t, both[1], 3000)
			if largest, rms := audiotest.Difference(t, got, want); largest != 0 || rms != 0 {
				t.Errorf("differs from its twin by %g", largest)
			}
			audiotest.NoWarnings(t, both[1])
		})
	}
}

// A file that sox does not write: 24 bits at the bottom of 32, with a GUID entirely in big-endian order.
func TestRIFXLow24(t *testing.T) {
	words := []int32{1, -1, 0x400000, -0x800000, 0x7FFFFF}
	src := opener.OpenFile(t, audiotest.WriteFile(t, "a.wav", bigEndianFile(words, 24)))
	got := audiotest.DecodeAll(t, src, 2)
	for i, w := range words {
		if want := float64(w) / (1 << 23); got[0][i] != want {
			t.Errorf("sample %d is %g, want %g", i, got[0][i], want)
		}
	}
}

// bigEndianFile returns a mono RIFX file of 32-bit words of which some bits are valid.
func bigEndianFile(words []int32, validBits uint16) []byte {
	u16, u32 := binary.BigEndian.AppendUint16, binary.BigEndian.AppendUint32
	data := u32([]byte("data"), uint32(4*len(words)))
	for _, w := range words {
		data = u32(data, uint32(w))
	}
	fm := u16(u16(u32([]byte("fmt "), fmtMaxLen), tagExtensible), 1)
	fm = u16(u16(u32(u32(fm, 44100), 4*44100), 4), 32)
	fm = append(u32(u32(u16(u16(fm, 22), validBits), 4), tagPCM), subformatTail[len(subformatTail)-12:]...)
	body := slices.Concat([]byte("WAVE"), fm, data)
	return append(u32([]byte("RIFX"), uint32(len(body))), body...)
}

// Only the first recording in a file is read, with a warning.
func TestWAVMoreSound(t *testing.T) {
	const rateHz = 1000
	one := wavFile{tag: tagPCM, channels: 1, rateHz: rateHz, bits: 16, data: make([]byte, 2*12*rateHz), dataSize: -1}.bytes()
	chunk := append(le32([]byte("data"), 2000), make([]byte, 2000)...)
	for name, data := range map[string][]byte{
		"a second data chunk": slices.Concat(one, chunk),
		"a second file":       slices.Concat(one, one),
		"behind another":      slices.Concat(one, le32([]byte("LIST"), 4), []byte("INFO"), chunk),
	} {
		src := opener.OpenFile(t, audiotest.WriteFile(t, "a.wav", data))
		if got := audiotest.DecodeAll(t, src, 700); len(got[0]) != 12*rateHz {
			t.Errorf("%s: %d frames", name, len(got[0]))
		}
		if w, want := fmt.Sprint(src.Warnings()), "[{only-first 12 0 0 0 }]"; w != want {
			t.Errorf("%s: warnings %s, want %s", name, w, want)
		}
	}
	src := opener.OpenFile(t, audiotest.WriteFile(t, "a.wav", slices.Concat(one, le32([]byte("data"), 0))))
	audiotest.DecodeAll(t, src, 700)
	if w := src.Warnings(); len(w) > 0 {
		t.Errorf("an empty chunk: warnings %v", w)
	}
}
