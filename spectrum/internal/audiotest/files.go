// Package audiotest helps to test decoders. It runs other programs, has small files of every kind and sound to encode,
// and checks that a decoder survives any input. Only tests may import it.
//
// It imports codec and quick, so that the codecs' own tests can use it.
package audiotest

import (
	"bytes"
	"embed"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/spectrum/audio/codec"
)

//go:embed testdata
var testdata embed.FS

// Seed returns the content of one of the small files in testdata.
func Seed(t testing.TB, name string) []byte {
	t.Helper()
	data, err := testdata.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// WriteFile writes a file into a new temporary folder and returns its path.
func WriteFile(t testing.TB, name string, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// ReadFile returns the content of a file.
func ReadFile(t testing.TB, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// NoWarnings fails if a recording has warnings.
func NoWarnings(t testing.TB, d codec.Decoder) {
	t.Helper()
	if w := d.Warnings(); len(w) > 0 {
		t.Errorf("warnings %+v", w)
	}
}

// OneWarning fails unless a recording has the warning want alone.
func OneWarning(t testing.TB, d codec.Decoder, want codec.Remark) {
	t.Helper()
	if w := d.Warnings(); len(w) != 1 || w[0] != want {
		t.Errorf("warnings %+v, want %+v", w, want)
	}
}

// AsFFmpeg fails unless x is what ffmpeg decodes from a file, rounded to single precision.
func AsFFmpeg(t testing.TB, path string, x [][]float64) {
	t.Helper()
	rounded := codec.NewBlock(len(x), len(x[0]))
	for ch := range x {
		for i, v := range x[ch] {
			rounded[ch][i] = float64(float32(v))
		}
	}
	if largest, _ := Difference(t, rounded, FFmpegDecode(t, path, len(x))); largest != 0 {
		t.Errorf("differs from ffmpeg by %g", largest)
	}
}

// WriteWAV writes x[channel][frame], full scale ±1, as a WAV file of 32-bit floats with the shortest header.
func WriteWAV(t testing.TB, path string, rateHz int, x [][]float64) {
	t.Helper()
	writeWAV(t, path, rateHz, x, 3, 4, func(b []byte, v float64) []byte {
		return binary.LittleEndian.AppendUint32(b, math.Float32bits(float32(v)))
	})
}

// WriteWAV16 writes x[channel][frame], full scale ±1, as a WAV file of 16 bits, rounded and clamped.
func WriteWAV16(t testing.TB, path string, rateHz int, x [][]float64) {
	t.Helper()
	writeWAV(t, path, rateHz, x, 1, 2, func(b []byte, v float64) []byte {
		return binary.LittleEndian.AppendUint16(b, uint16(codec.Steps(v, 16, 0)))
	})
}

func writeWAV(t testing.TB, path string, rateHz int, x [][]float64, tag, width int, put func([]byte, float64) []byte) {
	t.Helper()
	le := binary.LittleEndian
	size, frame := len(x[0])*len(x)*width, len(x)*width
	b := le.AppendUint32([]byte("RIFF"), uint32(36+size))
	b = le.AppendUint16(le.AppendUint32(append(b, "WAVEfmt "...), 16), uint16(tag))
	b = le.AppendUint32(le.AppendUint16(b, uint16(len(x))), uint32(rateHz))
	b = le.AppendUint16(le.AppendUint32(b, uint32(rateHz*frame)), uint16(frame))
	b = le.AppendUint32(append(le.AppendUint16(b, uint16(8*width)), "data"...), uint32(size))
	for i := range x[0] {
		for _, channel := range x {
			b = put(b, channel[i])
		}
	}
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
}

// Tune synthesises a sound like music, [channel][frame]: decaying notes with overtones, different in each channel, over
// soft noise, with a hard noise burst at each note that makes an MP3 encoder use short blocks. level scales it.
func Tune(rateHz, channels int, sec, level float64) [][]float64 {
	out := make([][]float64, channels)
	noteLen := rateHz / 4
	for ch := range out {
		out[ch] = make([]float64, int(sec*float64(rateHz)))
		rng := rand.New(rand.NewPCG(5, uint64(ch)))
		hits := rand.New(rand.NewPCG(13, 21))
		for i := range out[ch] {
			note := i / noteLen
			within := float64(i%noteLen) / float64(rateHz)
			freqHz := 110 * math.Pow(2, float64((note*7+ch*3)%24)/12)
			x := 0.0
			for k := 1.0; k <= 6; k++ {
				x += math.Sin(2*math.Pi*k*freqHz*float64(i)/float64(rateHz)) / (k * k)
			}
			hit := (2*hits.Float64() - 1) * math.Exp(-50*math.Mod(within+0.1, 0.25))
			out[ch][i] = level * (0.4*hit + 0.6*x*math.Exp(-6*within) + 0.05*(2*rng.Float64()-1))
		}
	}
	return out
}

// Difference returns the largest and the rms difference over all channels. The test fails if the shapes differ.
func Difference(t testing.TB, got, want [][]float64) (largest, rms float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d channels, want %d", len(got), len(want))
	}
	n := 0
	for ch := range got {
		if len(got[ch]) != len(want[ch]) {
			t.Fatalf("channel %d: %d frames, want %d", ch, len(got[ch]), len(want[ch]))
		}
		for i := range got[ch] {
			d := math.Abs(got[ch][i] - want[ch][i])
			largest = max(largest, d)
			rms += d * d
			n++
		}
	}
	return largest, math.Sqrt(rms / float64(max(n, 1)))
}

// WantProblem fails unless err is a [*codec.Error] with exactly the problem want, a text of one line and a hint.
func WantProblem(t testing.TB, err error, want string) {
	t.Helper()
	var e *codec.Error
	if !errors.As(err, &e) {
		t.Fatalf("error %v (%T), want *codec.Error", err, err)
	}
	if e.Problem != want {
		t.Errorf("problem %q, want %q", e.Problem, want)
	}
	if e.Hint == "" || strings.ContainsAny(e.Error()+e.Hint, "\n") || strings.HasSuffix(e.Hint, ".") {
		t.Errorf("error %q, hint %q", e, e.Hint)
	}
}

// Opener is the Open function of a codec; size is the length of the file in bytes.
type Opener func(r io.ReaderAt, size int64) (codec.Decoder, error)

// Open opens a file in memory. The test fails if it cannot be opened.
func (open Opener) Open(t testing.TB, data []byte) codec.Decoder {
	t.Helper()
	d, err := open(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatalf("open: %v", err)
	}
	return d
}

// OpenFile is [Opener.Open] for a file on disk.
func (open Opener) OpenFile(t testing.TB, path string) codec.Decoder {
	t.Helper()
	return open.Open(t, ReadFile(t, path))
}

// Refuse returns the error of opening a file in memory. The test fails if it can be opened.
func (open Opener) Refuse(t testing.TB, data []byte) error {
	t.Helper()
	d, err := open(bytes.NewReader(data), int64(len(data)))
	if err == nil {
		t.Fatalf("%s was opened", d.Format().Container)
	}
	return err
}

// DecodeAll reads d to its end in blocks of blockLen frames, closes it if it has a Close, and returns the sound as
// [channel][frame]. The test fails if Read breaks the contract of [codec.Decoder] or returns an error.
func DecodeAll(t testing.TB, d codec.Decoder, blockLen int) [][]float64 {
	t.Helper()
	if c, ok := d.(io.Closer); ok {
		defer c.Close()
	}
	out := make([][]float64, d.Format().Channels)
	block := codec.NewBlock(len(out), blockLen)
	for {
		n, err := d.Read(block)
		if n < 0 || n > blockLen || n == 0 && err == nil {
			t.Fatalf("Read returned %d frames of %d with error %v", n, blockLen, err)
		}
		for ch := range out {
			for i, x := range block[ch][:n] {
				if math.IsNaN(x) || math.Abs(x) > codec.MaxSample {
					t.Fatalf("channel %d frame %d is %v", ch, len(out[ch])+i, x)
				}
			}
			out[ch] = append(out[ch], block[ch][:n]...)
		}
		if err == io.EOF {
			return out
		}
		if err != nil {
			t.Fatalf("Read: %v", err)
		}
	}
}

// Noise returns that many seconds of partly correlated stereo noise, [channel][frame], in phrases of half a second, which
// are up to 6 dB below a level of db.
func Noise(seed uint64, rateHz int, seconds, db float64) [][]float64 {
	rng := rand.New(rand.NewPCG(seed, 5))
	x := codec.NewBlock(2, int(seconds*float64(rateHz)))
	gain := math.Pow(10, db/20)
	phrase := gain
	for i := range x[0] {
		if i%(rateHz/2) == 0 {
			phrase = gain * math.Pow(10, -6*rng.Float64()/20)
		}
		both := rng.NormFloat64()
		x[0][i] = phrase * (both + 0.5*rng.NormFloat64())
		x[1][i] = phrase * (both + 0.5*rng.NormFloat64())
	}
	return x
}
