package loudness

import (
	"math"
	"testing"

	"toneplumb/spectrum/testkit"
)

// EBU Tech 3342, signals 1 to 4: stereo 1 kHz sines of 20 s each, whose loudness
// range is given within ±1 LU at 48 kHz; we ask for half of that, at other rates too.
func TestTech3342(t *testing.T) {
	testkit.Skip(t, "measures minutes of sound")
	const toleranceLU = 0.5
	for _, c := range []struct {
		name string
		want float64
		dbfs []float64
	}{
		{"1", 10, []float64{-20, -30}},
		{"2", 5, []float64{-20, -15}},
		{"3", 20, []float64{-40, -20}},
		{"4", 15, []float64{-50, -35, -20, -35, -50}},
	} {
		var tones []tone
		for _, dbfs := range c.dbfs {
			tones = append(tones, both(20, dbfs))
		}
		for _, rate := range []float64{48000, 44100, 96000} {
			got := Range(stepsOf(rate, 1000, tones, 4096))
			if !(math.Abs(got-c.want) <= toleranceLU) {
				t.Errorf("signal %s at %g Hz: got %.3f LU, want %g ± %g", c.name, rate, got, c.want, toleranceLU)
			}
		}
	}
}

// The percentiles of a staircase are known in closed form. It would give other values if
// Range omitted a gate, the percentiles or the blocks of 3 s.
func TestRangeOfStaircase(t *testing.T) {
	const toleranceLU = 0.06 // blocks lie 1/120 LU apart; those across a tread's edge are means of two
	level := func(lufs float64) float64 { return math.Pow(10, (lufs+0.691)/10) }
	var steps []float64
	for i := range 12000 { // 20 min from −30 to −20 LUFS in 0.05 LU
		steps = append(steps, level(-30+0.05*float64(i/60)))
	}
	quiet := make([]float64, 12000) // below the relative gate
	for i := range quiet {
		quiet[i] = level(-60)
	}
	for _, c := range []struct {
		name  string
		steps []float64
		want  float64
	}{
		{"staircase", steps, 8.5}, // 85 % of 10 LU
		{"with as long a part 35 LU below", append(quiet, steps...), 8.5},
		{"alternating ±10 LU every 100 ms", alternating(level(-30), level(-10), 600), 0},
		{"nothing", nil, 0}, {"2.9 s", steps[:29], 0}, {"3 s", steps[:30], 0}, {"silence", make([]float64, 100), 0},
	} {
		if got := Range(c.steps); !(math.Abs(got-c.want) <= toleranceLU) {
			t.Errorf("%s: got %.3f LU, want %g ± %g", c.name, got, c.want, toleranceLU)
		}
	}
}

func alternating(a, b float64, n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = a
		if i%2 == 1 {
			x[i] = b
		}
	}
	return x
}
