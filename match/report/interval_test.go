package report

import (
	"math"
	"testing"

	"toneplumb/match"
)

func TestInterval(t *testing.T) {
	for _, c := range []struct {
		low, high float64
		want      string
	}{
		{0.4, 3.6, "+0.4 to +3.6"}, {-3.6, 0.4, "−3.6 to +0.4"},
		{-2.5, -2.5, "−2.5"}, {-2.52, -2.48, "−2.5"},
		{math.NaN(), math.NaN(), ""},
	} {
		if got := Interval(match.Move{GainLowDB: c.low, GainHighDB: c.high}); got != c.want {
			t.Errorf("%g to %g: %q, want %q", c.low, c.high, got, c.want)
		}
	}
}
