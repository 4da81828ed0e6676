package listen

import (
	"context"
	"io"
	"math"
	"runtime"
	"slices"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/memory"
	"toneplumb/spectrum/testkit"
)

// Of a recording that was not measured the loudest part is found by reading it.
func TestLoudestPart(t *testing.T) {
	const rate, toleranceSec = 44100, 0.11 // a step, and what the weighting smears
	x := noise(2, 12*rate, 0.05)
	for _, channel := range x {
		for i := 5 * rate; i < 9*rate; i++ {
			channel[i] *= 6
		}
	}
	from, err := LoudestPart(t.Context(), &memory.Sound{RateHz: rate, X: x}, 4)
	if err != nil || math.Abs(from-5) > toleranceSec {
		t.Errorf("loudest from %g s, %v", from, err)
	}
}

// Loudest finds the loudest part where it was put, within the counted passages only.
func TestLoudest(t *testing.T) {
	r := &measure.Recording{StepPower: make([]float64, 1000)}
	for i := range r.StepPower {
		r.StepPower[i] = 0.01
	}
	for i := 400; i < 700; i++ {
		r.StepPower[i] = 0.02
	}
	for i := 100; i < 150; i++ { // short and louder still
		r.StepPower[i] = 0.05
	}
	for _, c := range []struct {
		name    string
		counted measure.Passages
		sec     float64
		want    float64
	}{
		{"of all", nil, 30, 40},
		{"five seconds", nil, 5, 10},
		{"of a part", measure.Passages{{0, 30}}, 5, 10},
		{"of a part elsewhere", measure.Passages{{80, 100}}, 10, 80},
		{"longer than the recording", nil, 200, 0},
	} {
		r.Counted = c.counted
		if got := Loudest(r, c.sec); got != c.want {
			t.Errorf("%s: from %g s, want %g", c.name, got, c.want)
		}
	}
	if got := Loudest(&measure.Recording{}, 30); got != 0 {
		t.Errorf("a profile: %g", got)
	}
}

// The excerpt has the recording's own frames, scaled, for any length of blocks.
func TestCut(t *testing.T) {
	x := noise(3, 50000, 0.25)
	x[2][100] = 8 // not heard, so not scaled by
	for _, most := range []int{0, 1, 777} {
		e, err := Cut(context.Background(), &memory.Sound{RateHz: 10000, Most: most, X: x}, 1.25, 2)
		if err != nil {
			t.Fatal(err)
		}
		if len(e.X) != 2 || len(e.X[0]) != 20000 || e.FromSec != 1.25 || e.Sec() != 2 {
			t.Fatalf("%d channels of %d frames from %g s", len(e.X), len(e.X[0]), e.FromSec)
		}
		gain, largest := math.Pow(10, e.ScaleDB/20), 0.0
		for c := range e.X {
			for i, v := range e.X[c] {
				largest = max(largest, math.Abs(v))
				if math.Abs(v-gain*x[c][12500+i]) > 1e-12 { // rounding of the gain
					t.Fatalf("channel %d frame %d: %g, want %g", c, i, v, gain*x[c][12500+i])
				}
			}
		}
		if math.Abs(largest-fullSample) > 1e-12 {
			t.Errorf("largest sample %g, want %g", largest, fullSample)
		}
	}
	e, err := Cut(context.Background(), &memory.Sound{RateHz: 10000, X: x}, 4, 30)
	if err != nil || e.Sec() != 1 {
		t.Errorf("past the end: %v, %v", e, err)
	}
	if s := e.First(0.25); s.Sec() != 0.25 || &s.X[1][0] != &e.X[1][0] {
		t.Errorf("first quarter: %g s", s.Sec())
	}
	if _, err := Cut(context.Background(), &memory.Sound{RateHz: 10000, X: x}, 6, 30); err != io.EOF {
		t.Errorf("behind the end: %v", err)
	}
	if e, err := Cut(context.Background(), &memory.Sound{RateHz: 10000, X: audio.NewBlock(1, 10000)}, 0, 1); err != nil || e.ScaleDB != 0 {
		t.Errorf("silence: %v, %v", e, err)
	}
	done, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Cut(done, &memory.Sound{RateHz: 10000, X: x}, 0, 1); err != context.Canceled {
		t.Errorf("cancelled: %v", err)
	}
}

// Every subset of the moves has the loudness and peak that Render measures for it. Levels
// takes memory for a few blocks only, for any length of the excerpt: less than the excerpt
// itself. (A copy for each move took four times as much.)
func TestLevelsMemory(t *testing.T) {
	testkit.Skip(t, "filters minutes of sound")
	const rate, sec = 44100, 20
	e := &Excerpt{RateHz: rate, X: noise(2, sec*rate, 0.5)}
	moves := make([]biquad.Filter, 4)
	for i := range moves {
		moves[i] = biquad.Filter{Shape: biquad.Bell, FreqHz: 200 * float64(i+1), GainDB: 2, Q: 1}
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	if _, err := e.Levels(context.Background(), moves); err != nil {
		t.Fatal(err)
	}
	runtime.ReadMemStats(&after)
	if n := after.TotalAlloc - before.TotalAlloc; n > 2*8*sec*rate {
		t.Errorf("%d MB for an excerpt of %d MB", n>>20, 2*8*sec*rate>>20)
	}
}

func TestLevels(t *testing.T) {
	testkit.Skip(t, "renders every choice of moves")
	const toleranceLU = 1e-9 // the same filters and meters in another order of calls
	const rate = 44100
	x := noise(2, 5*rate, 0.5)
	moves := several().Moves
	levels, err := (&Excerpt{RateHz: rate, X: x}).Levels(context.Background(), moves)
	if err != nil || len(levels) != 1<<len(moves) {
		t.Fatalf("%d levels, %v", len(levels), err)
	}
	untouched := noise(2, 5*rate, 0.5)
	if !slices.Equal(x[0], untouched[0]) || !slices.Equal(x[1], untouched[1]) {
		t.Fatal("the excerpt was changed")
	}
	for choice, got := range levels {
		var on []biquad.Filter
		for i, m := range moves {
			if choice>>i&1 == 1 {
				on = append(on, m)
			}
		}
		_, want := rendered(t, &memory.Sound{RateHz: rate, X: x}, settings(0, on...))
		if math.Abs(got.LoudnessLUFS-want.LoudnessAfterLUFS) > toleranceLU || math.Abs(got.TruePeakDBTP-want.TruePeakAfterDBTP) > toleranceLU {
			t.Errorf("choice %b: %+v, rendered %g LUFS, %g dBTP", choice, got, want.LoudnessAfterLUFS, want.TruePeakAfterDBTP)
		}
	}
	// One channel is heard from two loudspeakers: 3.01 LU more.
	one, err := (&Excerpt{RateHz: rate, X: x[:1]}).Levels(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	two, _ := (&Excerpt{RateHz: rate, X: [][]float64{x[0], x[0]}}).Levels(context.Background(), nil)
	if math.Abs(one[0].LoudnessLUFS-two[0].LoudnessLUFS) > toleranceLU || one[0].TruePeakDBTP != two[0].TruePeakDBTP {
		t.Errorf("one channel %+v, twice the same %+v", one[0], two[0])
	}
	if _, err := (&Excerpt{RateHz: 8000, X: x}).Levels(context.Background(), []biquad.Filter{{Shape: biquad.Bell, FreqHz: 5000, GainDB: 1, Q: 1}}); err == nil {
		t.Error("a move above half the rate has no error")
	}
	// The course is that of the meter.
	course := (&Excerpt{RateHz: rate, X: x}).CourseLUFS()
	m := loudness.NewMeter(rate, 2)
	m.Add(x)
	if len(course) != 50 || course[7] != loudness.LUFS(m.Steps()[7]) {
		t.Errorf("course of %d steps", len(course))
	}
}
