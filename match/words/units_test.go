package words

import (
	"testing"

	"toneplumb/biquad"
)

func TestFormatHz(t *testing.T) {
	for hz, want := range map[float64]string{20: "20 Hz", 425: "425 Hz", 56.23: "56.2 Hz", 999: "999 Hz", 999.6: "1 kHz", 3150: "3.15 kHz", 16000: "16 kHz"} {
		if got := FormatHz(hz); got != want {
			t.Errorf("%g: %q, want %q", hz, got, want)
		}
	}
}

func TestFormatGain(t *testing.T) {
	for db, want := range map[float64]string{0: "0.0", 0.04: "0.0", -0.04: "0.0", 0.06: "+0.1", -0.06: "−0.1", 2.25: "+2.2", -12: "−12.0"} {
		if got := FormatGain(db); got != want {
			t.Errorf("%g: %q, want %q", db, got, want)
		}
	}
}

func TestFormatInterval(t *testing.T) {
	for _, c := range []struct {
		low, high float64
		want      string
	}{
		{1.2, 4.4, "1.2 to 4.4 under"}, {-4.4, -1.2, "1.2 to 4.4 over"}, {-1.2, 0.8, "0.8 under to 1.2 over"},
		{-0.01, 2, "0.0 to 2.0 under"}, {0, 0, "level"}, {-0.04, 0.04, "level"}, {2.96, 3.04, "3.0 under"}, {-3.04, -2.96, "3.0 over"}, {-3.04, 3.04, "3.0 under to 3.0 over"},
	} {
		if got := FormatInterval(c.low, c.high); got != c.want {
			t.Errorf("%g to %g: %q, want %q", c.low, c.high, got, c.want)
		}
	}
}

func TestFormatDifference(t *testing.T) {
	for db, want := range map[float64]string{0.04: "level", -0.04: "level", 1.24: "1.2 dB under", -0.26: "0.3 dB over"} {
		if got := FormatDifference(db); got != want {
			t.Errorf("%g: %q, want %q", db, got, want)
		}
	}
}

func TestList(t *testing.T) {
	for want, items := range map[string][]int{"": nil, "1": {1}, "1 and 2": {1, 2}, "1, 2 and 5": {1, 2, 5}} {
		if got := Numbers(items); got != want {
			t.Errorf("%v: %q, want %q", items, got, want)
		}
	}
}

func TestShape(t *testing.T) {
	for s, want := range map[biquad.Shape]string{biquad.LowShelf: "low shelf", biquad.Bell: "bell", biquad.HighShelf: "high shelf", biquad.LowCut: "low cut", biquad.HighCut: "high cut"} {
		if got := Shape(s); got != want {
			t.Errorf("%v: %q, want %q", s, got, want)
		}
	}
}
