package audiotest

import (
	"bytes"
	"encoding/binary"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"toneplumb/spectrum/testkit"
)

// Run runs a program and returns its standard output. The test fails if the program does.
func Run(t testing.TB, name string, args ...string) []byte {
	t.Helper()
	testkit.Tool(t, name)
	cmd := exec.Command(name, args...)
	var errOut bytes.Buffer
	cmd.Stderr = &errOut
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %v: %v\n%s", name, args, err, errOut.String())
	}
	return out
}

// Script writes an executable shell script that replaces a program.
func Script(t testing.TB, dir, name, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, name), []byte("#!/bin/sh\n"+text), 0o700); err != nil {
		t.Fatal(err)
	}
}

// FFmpegDecode returns the sound that ffmpeg decodes, [channel][frame].
func FFmpegDecode(t testing.TB, path string, channels int) [][]float64 {
	t.Helper()
	return Floats(Run(t, "ffmpeg", "-v", "error", "-nostdin", "-i", path, "-map", "0:a:0", "-f", "f32le", "-"), channels)
}

// Floats converts interleaved little-endian 32-bit floats to [channel][frame].
func Floats(raw []byte, channels int) [][]float64 {
	x := make([][]float64, channels)
	for i := 0; i+4*channels <= len(raw); i += 4 * channels {
		for ch := range x {
			x[ch] = append(x[ch], float64(math.Float32frombits(binary.LittleEndian.Uint32(raw[i+4*ch:]))))
		}
	}
	return x
}

// FFmpegEncode encodes a [Tune] with ffmpeg, and returns the path and the content of the file.
func FFmpegEncode(t testing.TB, rateHz, channels int, sec, level float64, name string, args ...string) (string, []byte) {
	t.Helper()
	testkit.Tool(t, "ffmpeg")
	dir := t.TempDir()
	wav, out := filepath.Join(dir, "a.wav"), filepath.Join(dir, name)
	WriteWAV(t, wav, rateHz, Tune(rateHz, channels, sec, level))
	Run(t, "ffmpeg", append(append([]string{"-v", "error", "-i", wav}, args...), "file:"+out)...)
	return out, ReadFile(t, out)
}
