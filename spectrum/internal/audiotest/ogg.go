package audiotest

import (
	"encoding/binary"
	"math"
	"path/filepath"
	"testing"

	"toneplumb/spectrum/audio/codec"
)

const oggHeaderLen = 27 // RFC 3533, section 6

// oggPageLen returns the length of the Ogg page at the start of b, 0 if there is no complete page.
func oggPageLen(b []byte) int {
	if len(b) < oggHeaderLen || string(b[:4]) != "OggS" || len(b) < oggHeaderLen+int(b[26]) {
		return 0
	}
	n := oggHeaderLen + int(b[26])
	for _, segment := range b[oggHeaderLen:n] {
		n += int(segment)
	}
	if n > len(b) {
		return 0
	}
	return n
}

// SplitOgg splits an Ogg file into its pages. The test fails if there is anything between them.
func SplitOgg(t testing.TB, data []byte) (pages [][]byte) {
	t.Helper()
	for len(data) > 0 {
		n := oggPageLen(data)
		if n == 0 {
			t.Fatal("no page")
		}
		pages, data = append(pages, data[:n]), data[n:]
	}
	return pages
}

// SealOgg returns data with the correct checksum in every Ogg page, so that a change is not rejected before the packets
// are read. Source: RFC 3533, section 6: polynomial 0x04C11DB7, start value 0, computed bit by bit here.
func SealOgg(data []byte) []byte {
	data = append([]byte(nil), data...)
	for i := 0; i+oggHeaderLen <= len(data); {
		n := oggPageLen(data[i:])
		if n == 0 {
			i++
			continue
		}
		page := data[i : i+n]
		clear(page[22:26])
		crc := uint32(0)
		for _, c := range page {
			crc ^= uint32(c) << 24
			for range 8 {
				crc = crc<<1 ^ crc>>31*0x04C11DB7
			}
		}
		binary.LittleEndian.PutUint32(page[22:], crc)
		i += n
	}
	return data
}

// LibopusDecode decodes with the oracle for Opus: libopus (in ffmpeg 5.1), the format's reference decoder. ffmpeg's own
// decoder is not accurate enough: with frames of 60 ms its difference from libopus is only 61 dB below the sound.
func LibopusDecode(t testing.TB, path string, channels int) [][]float64 {
	t.Helper()
	wav := filepath.Join(t.TempDir(), "opus.wav")
	Run(t, "ffmpeg", "-v", "error", "-nostdin", "-request_sample_fmt", "flt", "-c:a", "libopus", "-i", path, "-c:a", "pcm_f32le", wav)
	return FFmpegDecode(t, wav, channels)
}

// OggDB is the largest accepted difference from the reference decoders of Vorbis and Opus, in dB relative to the sound.
// Our choice: that is inaudible below the sound.
const OggDB = -80.0

// RelativeDB returns the power of the difference divided by the power of want, in dB. The test fails if the shapes differ.
func RelativeDB(t testing.TB, got, want [][]float64) float64 {
	t.Helper()
	_, diff := Difference(t, got, want)
	_, all := Difference(t, want, codec.NewBlock(len(want), len(want[0])))
	return 20 * math.Log10(diff/all)
}
