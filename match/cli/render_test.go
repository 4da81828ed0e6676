package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"toneplumb/examples/demo"
	"toneplumb/match"
	"toneplumb/match/job"
	"toneplumb/match/listen"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/testkit"
)

// ran runs a command line that must succeed and returns its stdout.
func ran(t *testing.T, args ...string) string {
	t.Helper()
	var stdout, stderr bytes.Buffer
	if code := Run(context.Background(), args, strings.NewReader(""), &stdout, &stderr); code != exitDone || stderr.Len() > 0 {
		t.Fatalf("%q: exit code %d, %s", args, code, &stderr)
	}
	return stdout.String()
}

// write makes a file of a test.
func write(t *testing.T, dir, name string, content []byte) string {
	t.Helper()
	path := filepath.Join(dir, name)
	if err := os.WriteFile(path, content, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// measured measures a file.
func measured(t *testing.T, path string) *measure.Recording {
	t.Helper()
	r, err := job.Reader{}.Measure(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// phrases is seconds of noise in phrases, each channel mostly its own.
func phrases(t *testing.T, path string, rateHz, channels int, depth audio.Depth, seconds int) {
	t.Helper()
	w, err := audio.CreateWAV(path, rateHz, channels, depth)
	if err != nil {
		t.Fatal(err)
	}
	defer w.Abort()
	rng := rand.New(rand.NewPCG(3, 4))
	block := audio.NewBlock(channels, rateHz/4)
	for range seconds * 4 {
		level := 0.03 + 0.05*rng.Float64()
		for i := range block[0] {
			for c := range block {
				block[c][i] = level * (2*rng.Float64() - 1)
			}
		}
		if err := w.Write(block); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
}

const threeMoves = `{"version": 1, "rate_hz": 44100, "trim_db": -0.6, "moves": [
 {"shape": "low-shelf", "freq_hz": 112, "gain_db": 2.5, "q": 0.6}, {"shape": "bell", "freq_hz": 425, "gain_db": -2, "q": 0.8},
 {"shape": "high-cut", "freq_hz": 3500, "cut_db_per_oct": 12}]}`

// Every kind of mix goes through with its own rate, channels and depth; what comes out
// has the loudness and the peak that were told.
func TestRenderKeepsTheFormat(t *testing.T) {
	testkit.Skip(t, "renders every kind of file")
	const (
		toleranceLU = 0.02 // our choice: a fifth of the 0.1 LU that is printed
		toleranceDB = 0.02 // dither and rounding of a 16-bit file 20 dB below full scale
	)
	dir := t.TempDir()
	settings := write(t, dir, "settings.json", []byte(threeMoves))
	eight := goodWAV(5)
	eight.bits, eight.align = 8, 2
	eight.data = make([]byte, 2*8000*5)
	rng := rand.New(rand.NewPCG(1, 1))
	for i := range eight.data {
		eight.data[i] = byte(98 + rng.IntN(60))
	}
	write(t, dir, "8 bit.wav", eight.bytes())
	for _, c := range []struct {
		name, encoding string
		rate, channels int
		depth          audio.Depth
		args           []string
	}{
		{"16 bit", "16-bit PCM", 44100, 2, audio.PCM16, nil},
		{"24 bit", "24-bit PCM", 48000, 2, audio.PCM24, nil},
		{"32 bit", "32-bit PCM", 48000, 1, audio.PCM32, nil},
		{"float", "32-bit float", 96000, 2, audio.Float32, nil},
		{"mono", "16-bit PCM", 22050, 1, audio.PCM16, nil},
		{"8 channels", "24-bit PCM", 48000, 8, audio.PCM24, nil},
		{"5.1", "16-bit PCM", 44100, 6, audio.PCM16, nil},
		{"192 kHz", "24-bit PCM", 192000, 2, audio.PCM24, nil},
		{"8 kHz", "16-bit PCM", 8000, 2, audio.PCM16, nil},
		{"8 bit", "16-bit PCM", 8000, 2, 0, nil},
		{"float to 16", "16-bit PCM", 44100, 2, audio.Float32, []string{"--depth", "16"}},
		{"16 to 24", "24-bit PCM", 44100, 2, audio.PCM16, []string{"--depth", "24"}},
		{"16 to float", "32-bit float", 44100, 2, audio.PCM16, []string{"--depth", "32f"}},
	} {
		mix, out := filepath.Join(dir, c.name+".wav"), filepath.Join(dir, c.name+" moved.wav")
		if c.name != "8 bit" {
			phrases(t, mix, c.rate, c.channels, c.depth, 5)
		}
		text := ran(t, append([]string{"render", mix, settings, "-o", out}, c.args...)...)
		var told renderDocument
		raw := ran(t, append([]string{"render", mix, settings, "-o", out, "--json", "--replace"}, c.args...)...)
		if err := json.Unmarshal([]byte(raw), &told); err != nil {
			t.Fatal(err)
		}
		before, after := measured(t, mix), measured(t, out)
		f := after.Format
		if f.Encoding != c.encoding || f.RateHz != c.rate || f.Channels != c.channels || after.DurationSec != before.DurationSec {
			t.Errorf("%s: written as %+v, %g s of %g", c.name, f, after.DurationSec, before.DurationSec)
		}
		if d := math.Abs(after.WholeLUFS - float64(*told.LoudnessAfter)); d > toleranceLU {
			t.Errorf("%s: %.3f LUFS, told %.3f", c.name, after.WholeLUFS, float64(*told.LoudnessAfter))
		}
		if d := math.Abs(before.WholeLUFS - float64(*told.LoudnessBefore)); d > toleranceLU {
			t.Errorf("%s: %.3f LUFS before, told %.3f", c.name, before.WholeLUFS, float64(*told.LoudnessBefore))
		}
		if d := math.Abs(after.TruePeakDBTP - float64(*told.TruePeakAfter)); d > toleranceDB {
			t.Errorf("%s: %.3f dBTP, told %.3f", c.name, after.TruePeakDBTP, float64(*told.TruePeakAfter))
		}
		if want := fmt.Sprintf("LUFS before, %s after", report.Level(float64(*told.LoudnessAfter), 2)); !strings.Contains(text, want) {
			t.Errorf("%s: the text lacks %q:\n%s", c.name, want, text)
		}
		if integer := !strings.Contains(c.encoding, "float"); told.Outputs[0].Dithered != integer {
			t.Errorf("%s: dithered: %v", c.name, told.Outputs[0].Dithered)
		}
		for line := range strings.Lines(text) { // paths are told whole
			if n := len([]rune(strings.TrimSuffix(line, "\n"))); n > report.Columns && !strings.HasPrefix(line, "wrote ") {
				t.Errorf("%s: a line of %d report.Columns: %q", c.name, n, line)
			}
		}
	}
}

// The moves that match finds keep the loudness within what their trim is rounded to, unless
// the peaks would then be above −1 dBTP: the trim is lower by a tenth of a dB more than that
// at most.
func TestRenderKeepsTheLoudness(t *testing.T) {
	testkit.Skip(t, "matches both ways and renders")
	dir := t.TempDir()
	rough, reference, err := demo.Write(context.Background(), dir, nil)
	if err != nil {
		t.Fatal(err)
	}
	files := []string{rough, reference}
	for i, mix := range files {
		settings, out := filepath.Join(dir, fmt.Sprint(i, ".json")), filepath.Join(dir, fmt.Sprint("moved", i, ".wav"))
		ran(t, "match", mix, files[1-i], "--toward", "100", "-o", settings)
		t.Log(ran(t, "render", mix, settings, "-o", out, "--depth", "24"))
		before, after := measured(t, mix), measured(t, out)
		d := after.WholeLUFS - before.WholeLUFS
		t.Logf("%s: %+.3f LU", filepath.Base(mix), d)
		lowered := after.TruePeakDBTP > match.MostTruePeakDBTP-0.15 && d < 0
		if !lowered && !(math.Abs(d) <= listen.RoundedLU) {
			t.Errorf("%s: %+.3f LU, want within %g", filepath.Base(mix), d, listen.RoundedLU)
		}
		const meters = 0.02 // dB; two readings of one peak
		if after.TruePeakDBTP > match.MostTruePeakDBTP+meters {
			t.Errorf("%s: a true peak of %.2f dBTP", filepath.Base(mix), after.TruePeakDBTP)
		}
	}
}

// Lossy coding leaves 24 bits: MPEG layers have no depth of their own.
func TestDepthOf(t *testing.T) {
	for _, c := range []struct {
		f    audio.Format
		want audio.Depth
	}{
		{audio.Format{Lossy: true, Bits: 16}, audio.PCM24},
		{audio.Format{Lossy: true}, audio.PCM24},
		{audio.Format{}, audio.Float32},
		{audio.Format{Bits: 8}, audio.PCM16},
		{audio.Format{Bits: 16}, audio.PCM16},
		{audio.Format{Bits: 20}, audio.PCM24},
		{audio.Format{Bits: 24}, audio.PCM24},
		{audio.Format{Bits: 32}, audio.PCM32},
	} {
		if got := listen.DepthOf(c.f); got != c.want {
			t.Errorf("%+v: %v, want %v", c.f, got, c.want)
		}
	}
}

// Ctrl-C leaves nothing, wherever it comes, and what stood there before as it was.
func TestRenderCancel(t *testing.T) {
	testkit.Skip(t, "ten minutes of sound")
	dir := t.TempDir()
	mix := write(t, dir, "mix.wav", goodWAV(600).bytes())
	settings := write(t, dir, "settings.json", []byte(threeMoves))
	out := write(t, dir, "out.wav", []byte("before"))
	stopped := 0
	for _, after := range []time.Duration{0, 50 * time.Millisecond, 200 * time.Millisecond, 500 * time.Millisecond, time.Second, 1500 * time.Millisecond} {
		ctx, cancel := context.WithCancel(context.Background())
		time.AfterFunc(after, cancel)
		var stdout, stderr bytes.Buffer
		code := Run(ctx, []string{"render", mix, settings, "-o", out, "--impulse", filepath.Join(dir, "impulse.wav"), "--replace"}, strings.NewReader(""), &stdout, &stderr)
		cancel()
		if code == exitDone {
			break // it was faster than we
		}
		stopped++
		if want := "toneplumb: stopped before it was done [stopped]\n  hint: run it again to finish\n"; stderr.String() != want || stdout.Len() > 0 {
			t.Errorf("cancelled after %v: %q, %q", after, &stderr, &stdout)
		}
		entries, _ := os.ReadDir(dir)
		var names []string
		for _, e := range entries {
			names = append(names, e.Name())
		}
		if content, _ := os.ReadFile(out); string(content) != "before" || !slices.Equal(names, []string{"mix.wav", "out.wav", "settings.json"}) {
			t.Errorf("cancelled after %v: left %q, out.wav of %d bytes", after, names, len(content))
		}
	}
	if stopped == 0 {
		t.Error("nothing was stopped")
	}
}

// Bad recordings give two lines and nothing else, good ones a file.
func TestRenderBadInputs(t *testing.T) {
	testkit.Skip(t, "the inputs that match refuses too")
	for _, c := range badInputs() {
		dir := t.TempDir()
		settings := write(t, dir, "settings.set", []byte(strings.Replace(threeMoves, "112", "113", 1)))
		out := filepath.Join(dir, "moved out.wav")
		input := c.make(t, dir)
		var stdout, stderr bytes.Buffer
		ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
		code := Run(ctx, []string{"render", "-o", out, "--", input, settings}, strings.NewReader(""), &stdout, &stderr)
		cancel()
		_, err := os.Stat(out)
		lines := strings.Split(strings.TrimSuffix(stderr.String(), "\n"), "\n")
		switch {
		case code == exitDone && (err != nil || stderr.Len() > 0 || strings.ContainsAny(stdout.String(), "\x1b\r\t")):
			t.Errorf("%s: done, but %v, %q, %q", c.name, err, &stderr, &stdout)
		case code == exitFailed && (err == nil || stdout.Len() > 0 || len(lines) != 2 || !strings.HasPrefix(lines[0], "toneplumb: ") || !strings.HasPrefix(lines[1], "  hint: ")):
			t.Errorf("%s: failed, but %v, %q, %q", c.name, err, &stderr, &stdout)
		}
		if left, _ := filepath.Glob(filepath.Join(dir, ".*.part")); len(left) > 0 {
			t.Errorf("%s: left behind %q", c.name, left)
		}
	}
}
