package measure

import (
	"math"
	"testing"

	"toneplumb/spectrum"
)

func TestWidth(t *testing.T) {
	const toleranceDB = 0.5/WidthsPerDB + 1e-9 // half a step
	for db := -150.0; db <= 150; db += 0.7013 {
		mid, side := WidthOf(3*spectrum.DBToPower(db), 3).Split(8)
		if got := spectrum.PowerToDB(mid / side); math.Abs(got-db) > toleranceDB || math.Abs(2*(mid+side)-8) > 1e-12 {
			t.Errorf("%g dB: mid %g and side %g of 8, %g dB apart", db, mid, side, got)
		}
	}
	for _, c := range []struct {
		name              string
		mid, side         float64
		wantMid, wantSide float64 // of power 2
	}{
		{"mono", 1, 0, 1, 0},
		{"side below 0 by rounding", 1, -1e-18, 1, 0},
		{"one channel against the other", 0, 1, 0, 1},
		{"silence", 0, 0, 1, 0},
		{"beyond the narrowest step", 1, 1e-30, 1, 0},
		{"beyond the widest step", 1e-30, 1, 0, 1},
	} {
		if mid, side := WidthOf(c.mid, c.side).Split(2); mid != c.wantMid || side != c.wantSide {
			t.Errorf("%s: mid %g, side %g; want %g and %g", c.name, mid, side, c.wantMid, c.wantSide)
		}
	}
}
