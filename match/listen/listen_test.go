package listen

import (
	"context"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/memory"
	"toneplumb/spectrum/testkit"
)

// noise returns white noise, uniform within ±level, independent in each channel.
func noise(channels, frames int, level float64) [][]float64 {
	rng := rand.New(rand.NewPCG(7, 8))
	x := audio.NewBlock(channels, frames)
	for c := range x {
		for i := range x[c] {
			x[c][i] = level * (2*rng.Float64() - 1)
		}
	}
	return x
}

func settings(trimDB float64, moves ...biquad.Filter) *document.Settings {
	return &document.Settings{RateHz: 44100, Moves: moves, TrimDB: trimDB}
}

// several returns moves of every shape that has a gain.
func several() *document.Settings {
	return settings(-1.2,
		biquad.Filter{Shape: biquad.LowShelf, FreqHz: 112, GainDB: 3.5, Q: 0.6},
		biquad.Filter{Shape: biquad.Bell, FreqHz: 425, GainDB: -2.5, Q: 0.8},
		biquad.Filter{Shape: biquad.Bell, FreqHz: 3150, GainDB: 1.5, Q: 2},
		biquad.Filter{Shape: biquad.HighShelf, FreqHz: 8000, GainDB: 4, Q: 0.7071},
	)
}

// rendered returns the sound that Render passes to its sink.
func rendered(t *testing.T, src audio.Source, s *document.Settings) ([][]float64, Check) {
	t.Helper()
	out := make([][]float64, src.Format().Channels)
	c, err := Render(context.Background(), src, s, func(block [][]float64) error {
		for ch := range out {
			out[ch] = append(out[ch], block[ch]...)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out, c
}

// rmsDB returns the rms of x−y in dB relative to that of y.
func rmsDB(x, y []float64) float64 {
	d, p := 0.0, 0.0
	for i := range y {
		d += (x[i] - y[i]) * (x[i] - y[i])
		p += y[i] * y[i]
	}
	return 10 * math.Log10(d/p)
}

func TestBlocksChangeNothing(t *testing.T) {
	x := noise(3, 3000, 0.5)
	want, wantCheck := rendered(t, &memory.Sound{RateHz: 44100, X: x}, several())
	if len(want[0]) != len(x[0]) {
		t.Fatalf("%d frames out of %d", len(want[0]), len(x[0]))
	}
	for _, size := range []int{1, 7, 512} {
		got, check := rendered(t, &memory.Sound{RateHz: 44100, X: x, Most: size}, several())
		for ch := range got {
			if !slices.Equal(got[ch], want[ch]) {
				t.Errorf("blocks of %d: channel %d differs", size, ch)
			}
		}
		if check != wantCheck {
			t.Errorf("blocks of %d: %+v, want %+v", size, check, wantCheck)
		}
	}
	if x[0][0] != noise(1, 1, 0.5)[0][0] {
		t.Error("the source was changed")
	}
}

// The same filters in sox 14.4.2. sox computes in 32-bit integers, and its files here have
// single precision; both errors are 24 dB or more below the tolerance.
func TestAgainstSox(t *testing.T) {
	testkit.Tool(t, "sox")
	const toleranceDB = -120
	for _, rate := range []int{44100, 48000, 96000} {
		dir := t.TempDir()
		in, out := filepath.Join(dir, "in.wav"), filepath.Join(dir, "out.wav")
		w, err := audio.CreateWAV(in, rate, 2, audio.Float32)
		if err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(w.Write(noise(2, 2*rate, 0.25)), w.Close()); err != nil {
			t.Fatal(err)
		}
		cmd := exec.Command("sox", "-D", in, "-e", "floating-point", "-b", "32", out,
			"bass", "3.5", "112", "0.6q", "equalizer", "425", "0.8q", "-2.5", "equalizer", "3150", "2q", "1.5", "treble", "4", "8000", "0.7071q", "vol", "-1.2dB")
		if text, err := cmd.CombinedOutput(); err != nil || len(text) > 0 {
			t.Fatalf("sox: %v\n%s", err, text)
		}
		open := func(path string) audio.Source {
			src, err := audio.Open(context.Background(), path)
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(func() { src.Close() })
			return src
		}
		got, _ := rendered(t, open(in), several())
		want, _ := rendered(t, open(out), settings(0))
		for ch := range got {
			db := rmsDB(got[ch], want[ch])
			t.Logf("%d Hz: %.1f dB", rate, db)
			if !(db <= toleranceDB) {
				t.Errorf("%d Hz, channel %d: %.1f dB from sox, want ≤ %d", rate, ch, db, toleranceDB)
			}
		}
	}
}

func TestCheck(t *testing.T) {
	const rate = 48000
	const toleranceLU = 1e-9 // a gain alone scales every power
	x := noise(2, 2*rate, 0.5)
	_, c := rendered(t, &memory.Sound{RateHz: rate, X: x}, settings(-3))
	if math.Abs(c.ChangeLU()+3) > toleranceLU || c.Frames != 2*rate || c.Clipped != 0 {
		t.Errorf("trim of −3 dB: %+v", c)
	}
	if want := math.Pow(10, -3.0/20) * 0.5; c.SamplePeak > want || c.SamplePeak < 0.999*want {
		t.Errorf("sample peak %g, want %g", c.SamplePeak, want)
	}
	if c.TruePeakAfterDBTP < 20*math.Log10(c.SamplePeak) {
		t.Errorf("true peak %g dBTP below the sample peak %g", c.TruePeakAfterDBTP, c.SamplePeak)
	}
	// Frames count, not samples; full scale itself is no clipping.
	edge := [][]float64{make([]float64, 1000), make([]float64, 1000)}
	edge[0][10], edge[1][10] = 1.1, -1.2
	edge[1][20] = -1.001
	edge[0][30], edge[1][40] = 1, -1
	if _, c := rendered(t, &memory.Sound{RateHz: rate, X: edge}, settings(0)); c.Clipped != 2 || c.SamplePeak != 1.2 {
		t.Errorf("clipping: %+v, want 2 frames and a peak of 1.2", c)
	}
	// Silence has no loudness, and none that could change.
	if _, c := rendered(t, &memory.Sound{RateHz: rate, X: audio.NewBlock(2, rate)}, several()); !math.IsInf(c.LoudnessBeforeLUFS, -1) || c.ChangeLU() != 0 || c.SamplePeak != 0 {
		t.Errorf("silence: %+v", c)
	}
	// All channels go through; the loudness is the front pair's, two tones of −23.01 LUFS.
	tone := audio.NewBlock(8, 2*rate)
	for i := range tone[0] {
		for ch := range tone {
			tone[ch][i] = 0.1 * math.Sin(2*math.Pi*997*float64(i)/rate)
		}
	}
	out, c := rendered(t, &memory.Sound{RateHz: rate, X: tone}, several())
	want := -23.01 + 10*math.Log10(2)
	const weightLU = 0.02 // −3.01 LUFS of full scale at 997 Hz is rounded
	if math.Abs(c.LoudnessBeforeLUFS-want) > weightLU {
		t.Errorf("eight channels: %.3f LUFS, want %.3f", c.LoudnessBeforeLUFS, want)
	}
	for ch := range out {
		if !slices.Equal(out[ch], out[0]) {
			t.Errorf("channel %d went another way", ch)
		}
	}
}

func TestRefuses(t *testing.T) {
	x := noise(1, 1000, 0.5)
	high := settings(0, biquad.Filter{Shape: biquad.Bell, FreqHz: 1000, GainDB: 1, Q: 1}, biquad.Filter{Shape: biquad.Bell, FreqHz: 12000, GainDB: 1, Q: 1})
	_, err := Render(context.Background(), &memory.Sound{RateHz: 22050, X: x}, high, nil)
	if err == nil || !strings.HasPrefix(err.Error(), "move 2: bell at 12000 Hz") {
		t.Errorf("a move above half the rate: %v", err)
	}
	if _, err = Impulse(context.Background(), high, 22050, nil); err == nil || !strings.HasPrefix(err.Error(), "move 2:") {
		t.Errorf("its impulse response: %v", err)
	}
	for _, rate := range []int{1, 7999} {
		if _, err := Render(context.Background(), &memory.Sound{RateHz: rate, X: x}, settings(0), nil); err == nil {
			t.Errorf("rendered at %d Hz", rate)
		}
		if _, err := Impulse(context.Background(), settings(0), float64(rate), nil); err == nil {
			t.Errorf("impulse response at %d Hz", rate)
		}
	}
	stop := errors.New("full")
	if _, err := Render(context.Background(), &memory.Sound{RateHz: 44100, X: x}, settings(0), func([][]float64) error { return stop }); err != stop {
		t.Errorf("the sink's error: %v", err)
	}
	if _, err := Impulse(context.Background(), settings(0), 44100, func([][]float64) error { return stop }); err != stop {
		t.Errorf("the sink's error: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Render(ctx, &memory.Sound{RateHz: 44100, X: x}, settings(0), nil); err != context.Canceled {
		t.Errorf("cancelled: %v", err)
	}
	if _, err := Impulse(ctx, settings(0), 44100, nil); err != context.Canceled {
		t.Errorf("cancelled: %v", err)
	}
}

// endless is a source that returns a number of frames of the same block.
type endless struct {
	memory.Sound
	left int
}

func (e *endless) Read(dst [][]float64) (int, error) {
	if e.left <= 0 {
		return 0, io.EOF
	}
	e.At = 0
	n, err := e.Sound.Read(dst)
	e.left -= n
	return n, err
}

// Ten minutes take no more memory than the loudness steps and a block.
func TestMemoryIsFlat(t *testing.T) {
	const frames, most = 600 * 8000, 2 << 20 // bytes allocated in all; the sound is 38 MB
	tone := audio.NewBlock(1, 8000)
	for i := range tone[0] {
		tone[0][i] = 0.5 * math.Sin(2*math.Pi*100*float64(i)/8000)
	}
	low := settings(0, biquad.Filter{Shape: biquad.Bell, FreqHz: 300, GainDB: 2, Q: 1})
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	c, err := Render(context.Background(), &endless{memory.Sound{RateHz: 8000, X: tone}, frames}, low, nil)
	runtime.ReadMemStats(&after)
	if err != nil || c.Frames < frames {
		t.Fatalf("%d frames, %v", c.Frames, err)
	}
	if used := after.TotalAlloc - before.TotalAlloc; used > most {
		t.Errorf("%d bytes, want at most %d", used, most)
	}
}

func BenchmarkRender(b *testing.B) {
	x := noise(2, 44100*10, 0.5)
	b.SetBytes(int64(len(x[0])))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Render(context.Background(), &memory.Sound{RateHz: 44100, X: x}, several(), nil); err != nil {
			b.Fatal(err)
		}
	}
}
