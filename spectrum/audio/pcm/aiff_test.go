package pcm

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"math/bits"
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/spectrum/internal/audiotest"
	"toneplumb/spectrum/testkit"
)

// aiffFile builds AIFF and AIFF-C files of every kind.
type aiffFile struct {
	kind     string // AIFF-C's four letters; empty: AIFF
	channels int
	rateHz   float64 // 44100 if 0
	bits     int
	frames   int // the number written; the true one if 0, none if negative
	data     []byte
	size     int64  // SSND's size as written; the true one if 0, 0 if negative
	offset   int    // bytes between SSND's head and the first sample
	order    string // c COMM, s SSND, x another chunk of odd length; "cs" if empty
}

// extendedOf encodes an 80-bit number in the simplest way.
func extendedOf(x float64) []byte {
	b := make([]byte, 10)
	if x == 0 {
		return b
	}
	m, e := math.Frexp(x) // x = m·2^e, m from 0.5
	mantissa := uint64(m * (1 << 53))
	shift := bits.LeadingZeros64(mantissa)
	binary.BigEndian.PutUint16(b, uint16(16382+e))
	binary.BigEndian.PutUint64(b[2:], mantissa<<shift)
	return b
}

func (f aiffFile) bytes() []byte {
	if f.rateHz == 0 {
		f.rateHz = 44100
	}
	if f.order == "" {
		f.order = "cs"
	}
	frames := f.frames
	if frames == 0 {
		frames = len(f.data) / max(1, (f.bits+7)/8*f.channels)
	}
	be16 := func(b []byte, v int) []byte { return binary.BigEndian.AppendUint16(b, uint16(v)) }
	be32 := func(b []byte, v int64) []byte { return binary.BigEndian.AppendUint32(b, uint32(v)) }
	chunk := func(id string, size int64, body []byte) []byte {
		b := append(be32([]byte(id), size), body...)
		if len(body)%2 == 1 {
			b = append(b, 0)
		}
		return b
	}
	form, comm := "AIFF", be16(nil, f.channels)
	comm = be16(be32(comm, int64(max(frames, 0))), f.bits)
	comm = append(comm, extendedOf(f.rateHz)...)
	if f.kind != "" {
		form = "AIFC"
		comm = append(comm, f.kind...)
		comm = append(comm, "\x05plain"...)
	}
	var out []byte
	for _, c := range f.order {
		switch c {
		case 'c':
			out = append(out, chunk("COMM", int64(len(comm)), comm)...)
		case 's':
			body := append(be32(be32(nil, int64(f.offset)), 0), make([]byte, f.offset)...)
			body = append(body, f.data...)
			size := f.size
			if size == 0 {
				size = int64(len(body))
			}
			out = append(out, chunk("SSND", max(size, 0), body)...)
		case 'x':
			out = append(out, chunk("NAME", 7, []byte("Tün ab"))...)
		}
	}
	return append(append(be32([]byte("FORM"), int64(len(out)+4)), form...), out...)
}

// aiffWords packs words at the top of the shortest container that holds the bits.
func aiffWords(words []int32, bits int, little bool) (data []byte, want []float64) {
	width := (bits + 7) / 8
	for _, w := range words {
		w = w >> (32 - bits) << (32 - bits)
		var b [4]byte
		binary.BigEndian.PutUint32(b[:], uint32(w))
		part := b[:width]
		if little {
			reverseBytes(part, width)
		}
		data = append(data, part...)
		want = append(want, float64(w)/(1<<31))
	}
	return data, want
}

func TestAIFFKinds(t *testing.T) {
	for _, row := range []struct {
		kind   string
		bits   int
		little bool
	}{
		{"", 8, false}, {"", 12, false}, {"", 16, false}, {"", 20, false}, {"", 24, false}, {"", 32, false},
		{"NONE", 8, false}, {"NONE", 16, false}, {"NONE", 24, false}, {"twos", 16, false}, {"sowt", 16, true}, {"sowt", 24, true},
		{"in24", 24, false}, {"in32", 32, false}, {"42ni", 32, true},
	} {
		t.Run(fmt.Sprint(row.kind, row.bits), func(t *testing.T) {
			data, want := aiffWords(testWords, row.bits, row.little)
			for _, order := range []string{"cs", "sc", "xcxsx", "xsxc"} {
				file := aiffFile{kind: row.kind, channels: 1, bits: row.bits, data: data, order: order, offset: len(order) - 2}
				checkAIFF(t, order, file, want, row.bits)
			}
		})
	}
	for kind, width := range map[string]int{"fl32": 4, "FL32": 4, "fl64": 8, "FL64": 8} {
		t.Run(kind, func(t *testing.T) {
			data, want := packFloats(width)
			reverseBytes(data, width)
			checkAIFF(t, kind, aiffFile{kind: kind, channels: 1, bits: 8 * width, data: data}, want, 0)
		})
	}
	t.Run("raw", func(t *testing.T) {
		checkAIFF(t, "raw", aiffFile{kind: "raw ", channels: 1, bits: 8, data: []byte{0, 128, 255}}, []float64{-1, 0, 127.0 / 128}, 8)
	})
}

func checkAIFF(t *testing.T, name string, file aiffFile, want []float64, bits int) {
	t.Helper()
	src := opener.OpenFile(t, audiotest.WriteFile(t, "a.wav", file.bytes()))
	f := src.Format()
	if f.Container != "AIFF" || f.Bits != bits || f.RateHz != 44100 || f.Channels != 1 || f.Lossy || f.Frames != int64(len(want)) {
		t.Errorf("%s: format %+v", name, f)
	}
	got := audiotest.DecodeAll(t, src, 3)
	if largest, _ := audiotest.Difference(t, got, [][]float64{want}); largest != 0 {
		t.Errorf("%s: got %v, want %v", name, got[0], want)
	}
	if w := src.Warnings(); len(w) > 0 {
		t.Errorf("%s: warnings %v", name, w)
	}
}

func TestAIFFSizes(t *testing.T) {
	data, _ := aiffWords(make([]int32, 44100), 16, false)
	whole := aiffFile{channels: 1, bits: 16, data: data}
	for _, row := range []struct {
		name   string
		data   []byte
		frames int
		want   string
	}{
		{"whole", whole.bytes(), 44100, ""},
		{"cut off", whole.bytes()[:len(data)/2+54], 22050, "{stops-early 0.5 0.5 1 0 }"},
		{"more announced than there is", aiffFile{channels: 1, bits: 16, data: data, frames: 88200}.bytes(), 44100, "{stops-early 1 1 2 0 }"},
		{"fewer announced", aiffFile{channels: 1, bits: 16, data: data, frames: 22050}.bytes(), 22050, ""},
		{"never finished", aiffFile{channels: 1, bits: 16, data: append(bytes.Repeat([]byte{1}, 88192), make([]byte, 8)...), frames: -1, size: -1}.bytes(), 44100, ""},
		{"size beyond the file", aiffFile{channels: 1, bits: 16, data: data, frames: -1, size: 0xFFFFFFFF}.bytes(), 44100, ""},
		{"half a frame at the end", aiffFile{channels: 2, bits: 16, data: data[:len(data)-2]}.bytes(), 22049, ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			src := opener.OpenFile(t, audiotest.WriteFile(t, "a.aif", row.data))
			if got := audiotest.DecodeAll(t, src, 1000); len(got[0]) != row.frames {
				t.Errorf("%d frames, want %d", len(got[0]), row.frames)
			}
			if w := fmt.Sprint(src.Warnings()); w != "["+row.want+"]" {
				t.Errorf("warnings %s, want %s", w, row.want)
			}
		})
	}
}

func TestAIFFRates(t *testing.T) {
	for _, row := range []struct {
		rateHz float64
		want   int
	}{{44100, 44100}, {48000, 48000}, {22254.545454, 22255}, {768000, 768000}, {1, 1}} {
		src := opener.OpenFile(t, audiotest.WriteFile(t, "a.aif", aiffFile{channels: 1, bits: 16, rateHz: row.rateHz, data: make([]byte, 20)}.bytes()))
		if got := src.Format().RateHz; got != row.want {
			t.Errorf("rate %g came out as %d", row.rateHz, got)
		}
	}
}

func TestAIFFAgainstFFmpeg(t *testing.T) {
	testkit.Tool(t, "ffmpeg")
	testkit.Tool(t, "sox")
	base := filepath.Join(t.TempDir(), "b.wav")
	audiotest.WriteWAV(t, base, 44100, audiotest.Tune(44100, 2, 0.7, 0.4))
	for name, args := range map[string][]string{
		"8 bit":         {"sox", "-D", base, "-b", "8", "OUT.aiff"},
		"16 bit":        {"sox", "-D", base, "-b", "16", "OUT.aiff"},
		"24 bit":        {"sox", "-D", base, "-b", "24", "OUT.aiff"},
		"32 bit":        {"sox", "-D", base, "-b", "32", "OUT.aiff"},
		"16 bit AIFF-C": {"sox", "-D", base, "-b", "16", "OUT.aifc"},
		"mono":          {"sox", "-D", base, "-b", "16", "-c", "1", "OUT.aiff"},
		"sowt":          {"ffmpeg", "-v", "error", "-i", base, "-c:a", "pcm_s16le", "OUT.aiff"},
		"24 by ffmpeg":  {"ffmpeg", "-v", "error", "-i", base, "-c:a", "pcm_s24be", "OUT.aiff"},
		"float":         {"ffmpeg", "-v", "error", "-i", base, "-c:a", "pcm_f32be", "OUT.aiff"},
		"double":        {"ffmpeg", "-v", "error", "-i", base, "-c:a", "pcm_f64be", "OUT.aiff"},
	} {
		t.Run(name, func(t *testing.T) {
			args = append([]string(nil), args...)
			out := filepath.Join(t.TempDir(), strings.Replace(args[len(args)-1], "OUT", "out", 1))
			args[len(args)-1] = out
			audiotest.Run(t, args[0], args[1:]...)
			src := opener.OpenFile(t, out)
			audiotest.AsFFmpeg(t, out, audiotest.DecodeAll(t, src, 4096))
			audiotest.NoWarnings(t, src)
		})
	}
}
