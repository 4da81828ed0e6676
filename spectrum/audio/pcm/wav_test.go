package pcm

import (
	"encoding/binary"
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/internal/audiotest"
	"toneplumb/spectrum/testkit"
)

// wavFile builds WAV files of every kind.
type wavFile struct {
	riff       string // "RIFF" if empty
	tag        int
	extensible bool
	channels   int
	rateHz     int
	bits       int
	width      int // bytes of a sample's container; bits/8 if 0
	validBits  int
	data       []byte
	dataSize   int64 // the size written; -1 for the true one
	ds64       int64 // the data size in ds64; no such chunk if 0
	order      string
	noPad      bool
}

func le16(b []byte, v int) []byte { return binary.LittleEndian.AppendUint16(b, uint16(v)) }
func le32(b []byte, v int) []byte { return binary.LittleEndian.AppendUint32(b, uint32(v)) }

func (f wavFile) bytes() []byte {
	width := f.width
	if width == 0 {
		width = f.bits / 8
	}
	tag := f.tag
	if f.extensible {
		tag = tagExtensible
	}
	fm := le16(nil, tag)
	fm = le16(fm, f.channels)
	fm = le32(fm, f.rateHz)
	fm = le32(fm, f.rateHz*width*f.channels)
	fm = le16(fm, width*f.channels)
	fm = le16(fm, f.bits)
	if f.extensible {
		valid := f.validBits
		if valid == 0 {
			valid = f.bits
		}
		fm = le16(le32(le16(le16(fm, 22), valid), 3), f.tag)
		fm = append(fm, subformatTail...)
	}
	chunk := func(id string, size int64, body []byte) []byte {
		if size < 0 {
			size = int64(len(body))
		}
		b := append(le32([]byte(id), int(size)), body...)
		if len(body)%2 == 1 && !f.noPad {
			b = append(b, 0)
		}
		return b
	}
	id := f.riff
	if id == "" {
		id = "RIFF"
	}
	out := append([]byte(id), "\xFF\xFF\xFF\xFFWAVE"...)
	if f.ds64 > 0 {
		b := binary.LittleEndian.AppendUint64(nil, 1<<40)
		b = binary.LittleEndian.AppendUint64(b, uint64(f.ds64))
		out = append(out, chunk("ds64", -1, append(b, make([]byte, 12)...))...)
	}
	order := f.order
	if order == "" {
		order = "fd"
	}
	for _, c := range order {
		switch c {
		case 'f':
			out = append(out, chunk("fmt ", -1, fm)...)
		case 'd':
			out = append(out, chunk("data", f.dataSize, f.data)...)
		case 'j':
			out = append(out, chunk("JUNK", -1, []byte("odd"))...)
		case 'l':
			out = append(out, chunk("LIST", -1, []byte("INFOISFT\x04\x00\x00\x00abcd"))...)
		case 'h':
			out = append(out, chunk("LIST", 0xE0000000, []byte("INFO"))...)
		case 'e':
			out = append(out, chunk("data", -1, nil)...)
		}
	}
	return out
}

// testWords are sample values as fractions of 2^31, with both ends of the range.
var testWords = []int32{0, 1 << 30, -1 << 30, math.MaxInt32, math.MinInt32, 123456789, -987654321, 1 << 24, -1 << 24, 3 << 16, -5 << 20, 77 << 23}

// packWords writes the top bits of the words into samples of the given container.
func packWords(words []int32, bits, width int, low bool) (data []byte, want []float64) {
	for _, v := range words {
		v = v >> (32 - bits) << (32 - bits)
		want = append(want, float64(v)/(1<<31))
		switch {
		case width == 1:
			data = append(data, byte(v>>24)+128)
		case low:
			data = le32(data, int(v>>(32-bits)))
		default:
			data = append(data, binary.LittleEndian.AppendUint32(nil, uint32(v))[4-width:]...)
		}
	}
	return data, want
}

func packFloats(width int) (data []byte, want []float64) {
	for _, x := range []float64{0, 0.5, -0.5, 1, -1, 1.5, -2.25, 1e-9, 0.123456789, -0.987654321, 3e-20, 0.25} {
		if width == 4 {
			data = binary.LittleEndian.AppendUint32(data, math.Float32bits(float32(x)))
			x = float64(float32(x))
		} else {
			data = binary.LittleEndian.AppendUint64(data, math.Float64bits(x))
		}
		want = append(want, x)
	}
	return data, want
}

func TestWAVKinds(t *testing.T) {
	type row struct {
		name     string
		file     wavFile
		want     []float64
		encoding string
		bits     int
		oracle   bool // ffmpeg 5.1 reads it too
	}
	var rows []row
	add := func(name, encoding string, bits int, want []float64, oracle bool, f wavFile) {
		rows = append(rows, row{name, f, want, encoding, bits, oracle})
	}
	for _, bits := range []int{8, 16, 24, 32} {
		data, want := packWords(testWords, bits, bits/8, false)
		enc := fmt.Sprintf("%d-bit PCM", bits)
		base := wavFile{tag: tagPCM, channels: 2, rateHz: 44100, bits: bits, data: data, dataSize: -1}
		for name, change := range map[string]func(*wavFile){
			"plain":             func(f *wavFile) {},
			"mono":              func(f *wavFile) { f.channels = 1 },
			"six channels":      func(f *wavFile) { f.channels = 6; f.extensible = true },
			"extensible":        func(f *wavFile) { f.extensible = true },
			"size to the end":   func(f *wavFile) { f.dataSize = 0xFFFFFFFF },
			"size 0":            func(f *wavFile) { f.dataSize = 0 },
			"size of a pipe":    func(f *wavFile) { f.dataSize = 0x7FFFF000 },
			"chunks before":     func(f *wavFile) { f.order = "jlfljd" },
			"chunks after":      func(f *wavFile) { f.order = "fdlj" },
			"empty data before": func(f *wavFile) { f.order = "efd" },
			"RF64":              func(f *wavFile) { f.riff, f.dataSize, f.ds64 = "RF64", 0xFFFFFFFF, int64(len(data)); f.order = "fdl" },
		} {
			f := base
			change(&f)
			add(fmt.Sprintf("%d bit %s", bits, name), enc, bits, want, name != "empty data before" && (bits == 24 || name == "plain"), f)
		}
		for name, change := range map[string]func(*wavFile){
			"data before fmt":  func(f *wavFile) { f.order = "df" },
			"odd without pad":  func(f *wavFile) { f.order = "jfd"; f.noPad = true },
			"BW64":             func(f *wavFile) { f.riff, f.dataSize, f.ds64 = "BW64", 0xFFFFFFFF, int64(len(data)); f.order = "jfdl" },
			"RF64 no ds64":     func(f *wavFile) { f.riff, f.dataSize = "RF64", 0xFFFFFFFF },
			"huge LIST behind": func(f *wavFile) { f.order = "fdh" },
		} {
			f := base
			change(&f)
			add(fmt.Sprintf("%d bit %s", bits, name), enc, bits, want, false, f)
		}
	}
	in32, want24 := packWords(testWords, 24, 4, false)
	low32, _ := packWords(testWords, 24, 4, true)
	// ffmpeg 5.1 takes 24 in 32 for a float format and sox 14.4.2 refuses it: closed form only.
	add("24 in 32 extensible", "24-bit PCM", 24, want24, false, wavFile{tag: tagPCM, extensible: true, channels: 2, rateHz: 48000, bits: 32, validBits: 24, data: in32, dataSize: -1})
	add("24 in 32 plain, top", "24-bit PCM", 24, want24, false, wavFile{tag: tagPCM, channels: 2, rateHz: 48000, bits: 24, width: 4, data: in32, dataSize: -1})
	add("24 in 32 plain, bottom", "24-bit PCM", 24, want24, false, wavFile{tag: tagPCM, channels: 2, rateHz: 48000, bits: 24, width: 4, data: low32, dataSize: -1})
	in24, want20 := packWords(testWords, 20, 3, false)
	add("20 in 24 extensible", "20-bit PCM", 20, want20, true, wavFile{tag: tagPCM, extensible: true, channels: 2, rateHz: 48000, bits: 24, validBits: 20, data: in24, dataSize: -1})
	for _, width := range []int{4, 8} {
		data, want := packFloats(width)
		enc := fmt.Sprintf("%d-bit float", 8*width)
		f := wavFile{tag: tagFloat, channels: 2, rateHz: 96000, bits: 8 * width, data: data, dataSize: -1}
		add(enc, enc, 0, want, true, f)
		f.extensible = true
		add(enc+" extensible", enc, 0, want, true, f)
		f.extensible, f.dataSize, f.order = false, 0xFFFFFFFF, "jfd"
		add(enc+" to the end", enc, 0, want, true, f)
	}

	for _, r := range rows {
		t.Run(r.name, func(t *testing.T) {
			path := audiotest.WriteFile(t, "a.wav", r.file.bytes())
			for _, blockLen := range []int{1, 7, 512} {
				src := opener.OpenFile(t, path)
				f := src.Format()
				if f.Container != "WAV" || f.Encoding != r.encoding || f.Bits != r.bits || f.Channels != r.file.channels || f.RateHz != r.file.rateHz || f.Lossy {
					t.Errorf("format %+v", f)
				}
				got := audiotest.DecodeAll(t, src, blockLen)
				audiotest.NoWarnings(t, src)
				if f.Frames != int64(len(got[0])) {
					t.Errorf("announced %d frames, got %d", f.Frames, len(got[0]))
				}
				if want := len(r.want) / f.Channels; len(got[0]) != want {
					t.Fatalf("blocks of %d: %d frames, want %d", blockLen, len(got[0]), want)
				}
				for i, want := range r.want {
					if x := got[i%f.Channels][i/f.Channels]; x != want {
						t.Errorf("blocks of %d: sample %d is %v, want %v", blockLen, i, x, want)
					}
				}
				if !r.oracle || blockLen != 512 {
					continue
				}
				audiotest.AsFFmpeg(t, path, got)
			}
		})
	}
}

func TestWAVDamage(t *testing.T) {
	const rateHz, channels = 1000, 2
	data := make([]byte, 220*rateHz*2*channels)
	full := wavFile{tag: tagPCM, channels: channels, rateHz: rateHz, bits: 16, data: data, dataSize: -1}.bytes()
	for _, row := range []struct {
		name   string
		data   []byte
		frames int
		want   codec.Remark
	}{
		{"cut off", full[:len(full)-148*rateHz*2*channels], 72 * rateHz, codec.Remark{Kind: codec.StopsEarly, AtSec: 72, LostSec: 148, OfSec: 220}},
		{"cut in a frame", full[:len(full)-3], 220*rateHz - 1, codec.Remark{Kind: codec.StopsEarly, AtSec: 219.999, LostSec: 0.001, OfSec: 220}},
		{"a little missing", full[:len(full)-500*2*channels], 220*rateHz - 500, codec.Remark{Kind: codec.StopsEarly, AtSec: 219.5, LostSec: 0.5, OfSec: 220}},
	} {
		t.Run(row.name, func(t *testing.T) {
			src := opener.OpenFile(t, audiotest.WriteFile(t, "a.wav", row.data))
			if got := audiotest.DecodeAll(t, src, 4096); len(got[0]) != row.frames {
				t.Errorf("%d frames, want %d", len(got[0]), row.frames)
			}
			audiotest.OneWarning(t, src, row.want)
		})
	}
}

func TestWAVNotNumbers(t *testing.T) {
	var data []byte
	for _, x := range []float64{0.5, math.NaN(), math.Inf(1), math.Inf(-1), 1e30, -0.5} {
		data = binary.LittleEndian.AppendUint32(data, math.Float32bits(float32(x)))
	}
	src := opener.OpenFile(t, audiotest.WriteFile(t, "a.wav", wavFile{tag: tagFloat, channels: 1, rateHz: 44100, bits: 32, data: data, dataSize: -1}.bytes()))
	got := audiotest.DecodeAll(t, src, 4)
	if want := []float64{0.5, 0, 0, 0, 0, -0.5}; fmt.Sprint(got[0]) != fmt.Sprint(want) {
		t.Errorf("got %v, want %v", got[0], want)
	}
	audiotest.OneWarning(t, src, codec.Remark{Kind: codec.BadSamples, Count: 4})
}

// Files from general-purpose tools, compared with ffmpeg's decoding, bit for bit.
func TestWAVFromTools(t *testing.T) {
	dir := t.TempDir()
	base := filepath.Join(dir, "base.wav")
	audiotest.WriteWAV(t, base, 44100, audiotest.Tune(44100, 2, 1.3, 0.5))
	for _, row := range []struct {
		name string
		args []string
	}{
		{"sox 8 bit", []string{"sox", base, "-b", "8", "-e", "unsigned-integer", "OUT"}},
		{"sox 24 bit", []string{"sox", base, "-b", "24", "OUT"}},
		{"sox 32 bit", []string{"sox", base, "-b", "32", "OUT"}},
		{"sox pipe", []string{"sh", "-c", "sox " + base + " -b 16 -t wav - | cat > OUT"}},
		{"ffmpeg pipe", []string{"sh", "-c", "ffmpeg -v error -i " + base + " -c:a pcm_s24le -f wav - | cat > OUT"}},
		{"ffmpeg RF64", []string{"ffmpeg", "-v", "error", "-i", base, "-c:a", "pcm_s24le", "-rf64", "always", "OUT"}},
		{"ffmpeg float64 six channels", []string{"ffmpeg", "-v", "error", "-i", base, "-ac", "6", "-c:a", "pcm_f64le", "OUT"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			tool, _, _ := strings.Cut(row.name, " ")
			testkit.Tool(t, tool)
			out := filepath.Join(dir, strings.ReplaceAll(row.name, " ", "-")+".wav")
			args := append([]string(nil), row.args[1:]...)
			last := len(args) - 1
			args[last] = strings.ReplaceAll(args[last], "OUT", out)
			audiotest.Run(t, row.args[0], args...)
			src := opener.OpenFile(t, out)
			got := audiotest.DecodeAll(t, src, 3000)
			audiotest.NoWarnings(t, src)
			audiotest.AsFFmpeg(t, out, got)
		})
	}
}
