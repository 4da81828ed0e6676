package audio

import (
	"bytes"
	"context"
	"encoding/binary"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// tool skips the test when a program is missing, or fails it where the outside checks are required.
func tool(t testing.TB, name string) {
	t.Helper()
	if _, err := exec.LookPath(name); err == nil {
		return
	}
	if os.Getenv("TONEPLUMB_ORACLES") == "required" {
		t.Fatalf("%s is needed for this check and is not installed", name)
	}
	t.Skipf("%s is not installed", name)
}

func run(t testing.TB, name string, args ...string) []byte {
	t.Helper()
	tool(t, name)
	cmd := exec.Command(name, args...)
	var errOut bytes.Buffer
	cmd.Stderr = &errOut
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %v: %v\n%s", name, args, err, errOut.String())
	}
	return out
}

// ffmpegDecode returns what ffmpeg decodes, as channels of floats.
func ffmpegDecode(t testing.TB, path string, channels int) [][]float64 {
	t.Helper()
	raw := run(t, "ffmpeg", "-v", "error", "-nostdin", "-i", path, "-map", "0:a:0", "-f", "f32le", "-")
	frames := len(raw) / 4 / channels
	out := NewBlock(channels, max(frames, 1))
	for ch := range out {
		out[ch] = out[ch][:frames]
		for i := range out[ch] {
			out[ch][i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(raw[4*(i*channels+ch):])))
		}
	}
	return out
}

// decodeAll reads a whole source in blocks of the given size, fails on what Read must never do, and closes it.
func decodeAll(t testing.TB, src Source, blockLen int) [][]float64 {
	t.Helper()
	defer src.Close()
	channels := src.Format().Channels
	out := make([][]float64, channels)
	block := NewBlock(channels, blockLen)
	for {
		n, err := src.Read(block)
		if n < 0 || n > blockLen || (n == 0) != (err != nil) {
			t.Fatalf("Read returned %d frames of %d with error %v", n, blockLen, err)
		}
		for ch := range out {
			for i, x := range block[ch][:n] {
				if math.IsNaN(x) || math.IsInf(x, 0) {
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

func openFile(t testing.TB, path string) Source {
	t.Helper()
	src, err := Open(context.Background(), path)
	if err != nil {
		t.Fatalf("Open: %v", err)
	}
	return src
}

func writeFile(t testing.TB, name string, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// tune synthesises something like music: decaying notes with overtones, spread over the channels, over soft noise,
// with a hard noise burst at each note that makes an MP3 encoder use short blocks.
func tune(rateHz, channels int, sec, level float64) [][]float64 {
	out := NewBlock(channels, int(sec*float64(rateHz)))
	noteLen := rateHz / 4
	for ch := range out {
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

// maxDiff returns the largest difference and the rms difference over all channels; lengths must be equal.
func maxDiff(t testing.TB, got, want [][]float64) (largest, rms float64) {
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

func toWAV(t testing.TB, path string, rateHz int, x [][]float64, depth Depth) {
	t.Helper()
	w, err := CreateWAV(path, rateHz, len(x), depth)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(x); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
}
