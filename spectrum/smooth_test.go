package spectrum

import (
	"math"
	"math/rand/v2"
	"testing"
)

// slowSmooth smooths by the definition, written out directly.
func slowSmooth(db []float64, leftOut []bool, octaves float64) []float64 {
	out := make([]float64, len(db))
	for i := range db {
		if leftOut[i] {
			continue
		}
		distance := 0 // bands there on both sides
		for d := 1; i-d >= 0 && i+d < len(db) && !leftOut[i-d] && !leftOut[i+d]; d++ {
			distance = d
		}
		half := math.Min(octaves*BandsPerOctave/2, float64(distance))
		total, weight := db[i], 1.0
		for d := 1; float64(d) <= half; d++ {
			w := 1.0
			if float64(d) == half {
				w = 0.5
			}
			total += w * (db[i-d] + db[i+d])
			weight += 2 * w
		}
		out[i] = total / weight
	}
	return out
}

func TestSmootherAgainstDefinition(t *testing.T) {
	const tolerance = 1e-11 // running sums of 240 values up to 100, in double
	rng := rand.New(rand.NewPCG(3, 4))
	for _, octaves := range []float64{1.0 / 24, 1.0 / 12, 1.0 / 8, 1.0 / 6, 1.0 / 3, 1.0 / 2, 1, 2} {
		for _, share := range []float64{0, 0.01, 0.1, 0.5, 1} {
			db, leftOut := make([]float64, BandCount), make([]bool, BandCount)
			for i := range db {
				db[i] = 100 * rng.Float64()
				if leftOut[i] = rng.Float64() < share; leftOut[i] {
					db[i] = math.NaN() // must never be read
				}
			}
			want := slowSmooth(db, leftOut, octaves)
			got := NewSmoother(leftOut, octaves).Smooth(nil, db)
			for i := range want {
				if !(math.Abs(got[i]-want[i]) <= tolerance) {
					t.Fatalf("1/%.0f octave, %g left out, band %d: got %v, want %v", 1/octaves, share, i, got[i], want[i])
				}
			}
		}
	}
}

func TestSmootherKeepsStraightLines(t *testing.T) {
	const tolerance = 1e-12
	leftOut := make([]bool, BandCount)
	leftOut[0], leftOut[57], leftOut[200] = true, true, true
	line := make([]float64, BandCount)
	for i := range line {
		line[i] = 3 - 0.02*float64(i)
	}
	got := NewSmoother(leftOut, 1.0/3).Smooth(nil, line)
	for i := range line {
		if !leftOut[i] && math.Abs(got[i]-line[i]) > tolerance {
			t.Errorf("band %d: got %v, want %v", i, got[i], line[i])
		}
	}
	if same := NewSmoother(leftOut, 1.0/3).Smooth(line, line); same[100] != got[100] {
		t.Errorf("in place: got %v, want %v", same[100], got[100])
	}
}
