package training

import (
	"math"
	"testing"

	"toneplumb/biquad"
)

func shelf(shape biquad.Shape, hz, db float64) biquad.Filter {
	return biquad.Filter{Shape: shape, FreqHz: hz, GainDB: db, Q: biquad.QFromSlope(0.7, db)}
}

func bell(hz, db, q float64) biquad.Filter {
	return biquad.Filter{Shape: biquad.Bell, FreqHz: hz, GainDB: db, Q: q}
}

// Curves apart, worked out with scipy 1.10: signal.freqz of the cookbook's coefficients
// written anew in Python at 48 kHz, at 1000·10^((2k+1)/160) Hz from 40 Hz to 16 kHz
// (208 of them), the mean taken off, root mean square.
func TestMarkAnswer(t *testing.T) {
	const tolerance = 0.0001 // as many decimals as were noted
	low, high := biquad.LowShelf, biquad.HighShelf
	for _, c := range []struct {
		name                    string
		hidden, heard           []biquad.Filter
		off, nothing            float64
		found, missed, invented int
	}{
		{"nothing heard", []biquad.Filter{bell(1000, 6, 1)}, nil, 1.7124, 1.7124, 0, 1, 0},
		{"half an octave off", []biquad.Filter{bell(1000, 6, 1)}, []biquad.Filter{bell(1400, 4, 1)}, 1.0112, 1.7124, 1, 0, 0},
		{"a bell for a shelf, and one invented", []biquad.Filter{shelf(low, 125, 4), bell(2000, -3, 1.4)},
			[]biquad.Filter{bell(80, 3, 1), shelf(high, 5000, 3)}, 1.4639, 1.6795, 1, 1, 1},
		{"exactly", []biquad.Filter{shelf(high, 5000, -5)}, []biquad.Filter{shelf(high, 5000, -5)}, 0, 1.6032, 1, 0, 0},
	} {
		m := MarkAnswer(c.hidden, c.heard, 48000)
		if math.Abs(m.OffDB-c.off) > tolerance || math.Abs(m.HiddenDB-c.nothing) > tolerance {
			t.Errorf("%s: %.4f and %.4f dB, want %.4f and %.4f", c.name, m.OffDB, m.HiddenDB, c.off, c.nothing)
		}
		if len(m.Found) != c.found || len(m.Missed) != c.missed || len(m.Invented) != c.invented {
			t.Errorf("%s: %d found, %d missed, %d invented; want %d, %d, %d", c.name, len(m.Found), len(m.Missed), len(m.Invented), c.found, c.missed, c.invented)
		}
	}
}

// When one move is taken for another.
func TestFound(t *testing.T) {
	low, high := biquad.LowShelf, biquad.HighShelf
	for _, c := range []struct {
		name          string
		hidden, heard biquad.Filter
		want          bool
	}{
		{"an octave up", bell(1000, 3, 1), bell(2000, 1, 2), true},
		{"more than an octave", bell(1000, 3, 1), bell(2100, 3, 1), false},
		{"the other way", bell(1000, 3, 1), bell(1000, -3, 1), false},
		{"a low bell for a low shelf", shelf(low, 200, 4), bell(60, 3, 1), true},
		{"a low bell three octaves down", shelf(low, 200, 4), bell(25, 3, 1), false},
		{"a bell above a low shelf", shelf(low, 200, 4), bell(500, 3, 1), false},
		{"a high bell for a high shelf", shelf(high, 3150, -3), bell(10000, -3, 1), true},
		{"a high shelf for a high bell", bell(10000, -3, 1), shelf(high, 3150, -3), true},
		{"a low shelf for a high one", shelf(high, 1000, 3), shelf(low, 1000, 3), false},
	} {
		if _, got := near(c.hidden, c.heard); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
	// The nearer of two is the one that was found.
	m := MarkAnswer([]biquad.Filter{bell(1000, 3, 1)}, []biquad.Filter{bell(1900, 3, 1), bell(1100, 3, 1)}, 48000)
	if len(m.Found) != 1 || m.Found[0].Heard.FreqHz != 1100 || len(m.Invented) != 1 {
		t.Errorf("two for one: %+v", m)
	}
	if total := TotalOf([]Mark{m, {OffDB: 2, HiddenDB: 1, Missed: []biquad.Filter{bell(1, 1, 1)}}}); total.Hidden != 2 || total.Found != 1 || total.Missed != 1 || total.Invented != 1 {
		t.Errorf("in all: %+v", total)
	}
}
