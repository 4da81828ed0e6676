package loudness

import (
	"bytes"
	"encoding/binary"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"toneplumb/spectrum/testkit"
)

// Real music against ffmpeg's ebur128 filter. TONEPLUMB_SONGS names a folder of
// recordings that ffmpeg reads; the first five are used. Both measure what ffmpeg
// decodes.
func TestSongsAgainstFfmpeg(t *testing.T) {
	const (
		songs       = 5
		loudnessLU  = 0.1 // half of it is the printed digit
		truePeakDB  = 0.2 // ffmpeg oversamples by another filter, and prints tenths
		rangeLU     = 0.5 // half of Tech 3342's tolerance; percentiles are read off otherwise
		blockFrames = 4096
	)
	folder := os.Getenv("TONEPLUMB_SONGS")
	if folder == "" {
		t.Skip("TONEPLUMB_SONGS names no folder of recordings")
	}
	testkit.Tool(t, "ffmpeg")
	files, err := filepath.Glob(filepath.Join(folder, "*"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no files in %q", folder)
	}
	for _, file := range files[:min(songs, len(files))] {
		t.Run(filepath.Base(file), func(t *testing.T) {
			rate, x := decode(t, file)
			meter, peaks := NewMeter(rate, len(x)), NewPeakMeter(rate, len(x))
			for at := 0; at < len(x[0]); at += blockFrames {
				block := make([][]float64, len(x))
				for c := range x {
					block[c] = x[c][at:min(at+blockFrames, len(x[c]))]
				}
				meter.Add(block)
				peaks.Add(block)
			}
			_, summary := ffmpeg(t, "-i", file, "-map", "0:a:0", "-af", "ebur128=peak=true", "-f", "null", "-")
			summary = summary[bytes.LastIndex(summary, []byte("Summary:")):]
			for _, c := range []struct {
				name, pattern  string
				got, tolerance float64
			}{
				{"loudness, LUFS", `I: +(\S+) LUFS`, Integrated(meter.Steps()), loudnessLU},
				{"loudness range, LU", `LRA: +(\S+) LU`, Range(meter.Steps()), rangeLU},
				{"true peak, dBTP", `Peak: +(\S+) dBFS`, peaks.TruePeakDBTP(), truePeakDB},
			} {
				want := number(t, summary, c.pattern)
				t.Logf("%s: %.3f, ffmpeg %.1f", c.name, c.got, want)
				if !(math.Abs(c.got-want) <= c.tolerance) {
					t.Errorf("%s: got %.3f, ffmpeg says %g ± %g", c.name, c.got, want, c.tolerance)
				}
			}
		})
	}
}

// ffmpeg runs ffmpeg and returns its standard output and standard error.
func ffmpeg(t *testing.T, args ...string) (out, text []byte) {
	t.Helper()
	cmd := exec.Command("ffmpeg", append([]string{"-hide_banner", "-nostdin"}, args...)...)
	var errOut bytes.Buffer
	cmd.Stderr = &errOut
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("ffmpeg %v: %v\n%s", args, err, errOut.String())
	}
	return out, errOut.Bytes()
}

// decode returns a mono or stereo recording as ffmpeg reads it.
func decode(t *testing.T, file string) (rateHz float64, x [][]float64) {
	t.Helper()
	raw, text := ffmpeg(t, "-i", file, "-map", "0:a:0", "-f", "f32le", "-")
	rateHz = number(t, text, `(\d+) Hz, (?:mono|stereo)`)
	x = make([][]float64, 2)
	if bytes.Contains(text, []byte(" Hz, mono")) {
		x = x[:1]
	}
	for c := range x {
		x[c] = make([]float64, len(raw)/4/len(x))
		for i := range x[c] {
			x[c][i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(raw[4*(i*len(x)+c):])))
		}
	}
	return rateHz, x
}

func number(t *testing.T, text []byte, pattern string) float64 {
	t.Helper()
	found := regexp.MustCompile(pattern).FindSubmatch(text)
	if found == nil {
		t.Fatalf("ffmpeg's text has no %q:\n%s", pattern, text)
	}
	v, err := strconv.ParseFloat(string(found[1]), 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
