package biquad

import (
	"math"
	"testing"
)

func TestConversions(t *testing.T) {
	for _, row := range []struct {
		name           string
		got, want, tol float64 // tol: half of the last printed digit
	}{
		// The cookbook's formulas, computed with four to five digits.
		{"Q of 3 octaves", QFromBandwidth(3), 0.4041, 5e-5},
		{"Q of 2 octaves", QFromBandwidth(2), 0.6667, 5e-5},
		{"Q of 1 octave", QFromBandwidth(1), 1.4142, 5e-5},
		{"Q of 1/2 octave", QFromBandwidth(1.0 / 2), 2.871, 5e-4},
		{"Q of 1/3 octave", QFromBandwidth(1.0 / 3), 4.3185, 5e-5},
		{"Q of 1/6 octave", QFromBandwidth(1.0 / 6), 8.6514, 5e-5},
		{"Q of 1 octave at 1 kHz, 48 kHz", QFromBandwidthAt(1, 1000, 48000), 1.4100, 5e-5},
		{"Q of S 1 at 6 dB", QFromSlope(1, 6), 0.7071, 5e-5},
		{"Q of S 1 at -12 dB", QFromSlope(1, -12), 0.7071, 5e-5},
		{"Q of S 0.75 at 6 dB", QFromSlope(0.75, 6), 0.6078, 5e-5},
		{"Q of S 0.5 at 6 dB", QFromSlope(0.5, 6), 0.4926, 5e-5},
		{"Q of S 0.3 at -6 dB", QFromSlope(0.3, -6), 0.3794, 5e-5},
		{"dB/oct at S 1, 3 dB", SteepestDBPerOct(1, 3), 2.1, 0.05},
		{"dB/oct at S 1, -6 dB", SteepestDBPerOct(1, -6), 4.0, 0.05},
	} {
		if !(math.Abs(row.got-row.want) <= row.tol) {
			t.Errorf("%s = %.6g, want %g ± %g", row.name, row.got, row.want, row.tol)
		}
	}
}

func TestConversionsInvert(t *testing.T) {
	const tol = 1e-12 // relative; a few roundings, S near its pole loses two digits
	for _, q := range []float64{0.1, 0.3, 0.5, 0.7071, 1, 3, 10} {
		if got := QFromBandwidth(BandwidthFromQ(q)); !(math.Abs(got/q-1) <= tol) {
			t.Errorf("Q %g through bandwidth: %.15g", q, got)
		}
		for _, gain := range []float64{-12, 0, 0.5, 6} {
			if got := QFromSlope(SlopeFromQ(q, gain), gain); !(math.Abs(got/q-1) <= tol) {
				t.Errorf("Q %g through S at %g dB: %.15g", q, gain, got)
			}
		}
	}
	if q := QFromSlope(20, 6); !math.IsNaN(q) {
		t.Errorf("Q of S 20 at 6 dB = %g, want NaN: no shelf is that steep", q)
	}
}

// A shelf's steepness by differences of its response far below the sample rate.
func TestSteepestByDifferences(t *testing.T) {
	const tol = 1e-6 // dB/oct: the squeeze at 10 Hz of 192 kHz is 3e-8, h² 1e-8
	const rate, freq, h = 192000, 10, 1e-4
	for _, slope := range []float64{0.25, 0.5, 1} {
		for _, gain := range []float64{-6, 1, 9} {
			f := []Filter{{HighShelf, freq, gain, QFromSlope(slope, gain), 0}}
			db := ResponseDB(nil, f, []float64{freq * math.Exp2(-h), freq * math.Exp2(h)}, rate)
			want := math.Abs(db[1]-db[0]) / (2 * h)
			if got := SteepestDBPerOct(slope, gain); !(math.Abs(got-want) <= tol*max(1, want)) {
				t.Errorf("S %g, %g dB: %.8f dB/oct, by differences %.8f ± %g", slope, gain, got, want, tol)
			}
		}
	}
}
