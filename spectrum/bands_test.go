package spectrum

import (
	"math"
	"testing"
)

// A level difference of 10 dB is a power ratio of 10: IEC 80000-3, power quantities.
func TestDecibels(t *testing.T) {
	for _, c := range []struct{ power, db float64 }{{1, 0}, {10, 10}, {0.01, -20}, {0.5, -3.0103}} {
		if got := PowerToDB(c.power); math.Abs(got-c.db) > 1e-4 { // digits of the table
			t.Errorf("power %g is %g dB, want %g", c.power, got, c.db)
		}
		if got := DBToPower(c.db); math.Abs(got/c.power-1) > 1e-4 {
			t.Errorf("%g dB is a power of %g, want %g", c.db, got, c.power)
		}
	}
	if got := PowerToDB(0); !math.IsInf(got, -1) {
		t.Errorf("nothing is %g dB", got)
	}
}
