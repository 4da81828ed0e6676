package demo

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"sync"
	"testing"

	"toneplumb/spectrum/testkit"
)

// files holds both recordings that Write wrote, as bytes and samples.
type files struct {
	raw   [2][]byte
	sound [2][][]float64 // mix, reference
	err   error
}

var written = sync.OnceValue(func() (f files) {
	dir, err := os.MkdirTemp("", "demo")
	if err != nil {
		return files{err: err}
	}
	defer os.RemoveAll(dir)
	last := 0.0
	mix, ref, err := Write(context.Background(), dir, func(done float64) {
		if done < last || done > 1 {
			f.err = fmt.Errorf("progress went from %g to %g", last, done)
		}
		last = done
	})
	if err == nil && last != 1 {
		err = fmt.Errorf("progress ended at %g, want 1", last)
	}
	if err != nil {
		return files{err: err}
	}
	for i, path := range []string{mix, ref} {
		raw, err := os.ReadFile(path)
		if err != nil {
			return files{err: err}
		}
		f.raw[i], f.sound[i] = raw, samples(raw)
	}
	return f
})

// samples reads a canonical 16-bit stereo WAV file: 44 bytes of header, then frames (RIFF, from memory).
func samples(raw []byte) [][]float64 {
	const headLen = 44
	frames := (len(raw) - headLen) / 4
	x := [][]float64{make([]float64, frames), make([]float64, frames)}
	for i := range 2 * frames {
		x[i%2][i/2] = float64(int16(binary.LittleEndian.Uint16(raw[headLen+2*i:]))) / 32768
	}
	return x
}

func recordings(t *testing.T) files {
	t.Helper()
	testkit.Skip(t, "renders whole pieces")
	f := written()
	if f.err != nil {
		t.Fatal(f.err)
	}
	return f
}

// Limits for both recordings. All are our choice; the measured values are next to them.
const (
	minSec, maxSec = 60, 90
	mixPeakDBFS    = -3.5 // measured −3.5: room for moves, still a normal bounce
	refPeakDBFS    = -1   // measured −0.9
	peakTolDB      = 0.7  // other processors round otherwise, and a change of one drum should not fail here
	maxOffset      = 1e-4 // −80 dBFS, measured 2e-6
	// The correlation of the channels: 1 is mono, below 0.5 a piece with its bass in the middle would be hollow.
	// Measured 0.85 both.
	minCorrelation, maxCorrelation = 0.6, 0.95
	maxSidesDB                     = 1.5 // left against right, measured 0.9 and 0.0
	// The last 50 ms must have faded: one step of 16 bits is 3e-5.
	maxLast = 3e-4
)

func TestRecordings(t *testing.T) {
	f := recordings(t)
	for i, row := range []struct {
		name     string
		peakDBFS float64
	}{{"rough mix", mixPeakDBFS}, {"reference", refPeakDBFS}} {
		x := f.sound[i]
		frames := len(x[0])
		if sec := float64(frames) / RateHz; sec < minSec || sec > maxSec {
			t.Errorf("%s: lasts %.1f s, want %d to %d", row.name, sec, minSec, maxSec)
		}
		var peak, last float64
		var sum, power [2]float64
		var cross float64
		for n := range frames {
			for ch := range x {
				v := x[ch][n]
				peak = max(peak, math.Abs(v))
				sum[ch] += v
				power[ch] += v * v
				if n >= frames-RateHz/20 {
					last = max(last, math.Abs(v))
				}
			}
			cross += x[0][n] * x[1][n]
		}
		if got := 20 * math.Log10(peak); math.Abs(got-row.peakDBFS) > peakTolDB {
			t.Errorf("%s: peak %.2f dBFS, want %.1f ± %.1f", row.name, got, row.peakDBFS, peakTolDB)
		}
		for ch := range sum {
			if got := math.Abs(sum[ch]) / float64(frames); got > maxOffset {
				t.Errorf("%s: channel %d has an offset of %.2g, want at most %.0g", row.name, ch, got, maxOffset)
			}
		}
		if got := cross / math.Sqrt(power[0]*power[1]); got < minCorrelation || got > maxCorrelation {
			t.Errorf("%s: correlation %.3f, want %.2f to %.2f", row.name, got, minCorrelation, maxCorrelation)
		}
		if got := 10 * math.Log10(power[0]/power[1]); math.Abs(got) > maxSidesDB {
			t.Errorf("%s: left is %.2f dB above right, want ± %.1f", row.name, got, maxSidesDB)
		}
		if x[0][0] != 0 || x[1][0] != 0 || last > maxLast {
			t.Errorf("%s: begins at %g, %g and ends with up to %.2g, want silence", row.name, x[0][0], x[1][0], last)
		}
	}
}

// TestSameBytes compares two runs: all bytes of both files or, under the race detector, which is slow, the sound of the
// first seconds.
func TestSameBytes(t *testing.T) {
	f := recordings(t)
	if underRace {
		const frames = 5 * RateHz
		const halfStep = 0.5 / 32768 // of 16 bits
		for i, p := range []*Piece{RoughMix(), Finished()} {
			again := listen(p, frames, frames)
			for ch := range again {
				for n, v := range again[ch] {
					if math.Abs(v-f.sound[i][ch][n]) > halfStep {
						t.Fatalf("%s: frame %d of channel %d is %g, in the first run %g", p.Title, n, ch, v, f.sound[i][ch][n])
					}
				}
			}
		}
		return
	}
	dir := t.TempDir()
	mix, ref, err := Write(context.Background(), dir, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, path := range []string{mix, ref} {
		again, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(again, f.raw[i]) {
			t.Errorf("%s differs from the first run", filepath.Base(path))
		}
	}
}

func TestWriteLeavesNothingBehind(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	dir := t.TempDir()
	if _, _, err := Write(ctx, dir, func(float64) { cancel() }); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want %v", err, context.Canceled)
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, error %v", left, err)
	}
	if _, _, err := Write(context.Background(), filepath.Join(dir, "missing"), nil); err == nil {
		t.Error("no error for a folder that does not exist")
	}
}

func TestLoudnessByFFmpeg(t *testing.T) {
	testkit.Tool(t, "ffmpeg")
	f := recordings(t)
	// Our choice: a mix with headroom, a finished piece as loud as streaming services play (−14 LUFS, common practice).
	const tolLU = 0.8
	for i, wantLUFS := range []float64{-20, -14} {
		path := filepath.Join(t.TempDir(), "x.wav")
		if err := os.WriteFile(path, f.raw[i], 0o600); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command("ffmpeg", "-nostdin", "-nostats", "-i", path, "-af", "ebur128", "-f", "null", "-").CombinedOutput()
		if err != nil {
			t.Fatalf("ffmpeg: %v\n%s", err, out)
		}
		found := regexp.MustCompile(`\n\s+I:\s+(-?[\d.]+) LUFS`).FindSubmatch(out)
		if found == nil {
			t.Fatalf("no loudness in ffmpeg's output:\n%s", out)
		}
		got, err := strconv.ParseFloat(string(found[1]), 64)
		if err != nil || math.Abs(got-wantLUFS) > tolLU {
			t.Errorf("recording %d: %v LUFS (%v), want %g ± %g", i, got, err, wantLUFS, tolLU)
		}
	}
}
