package spectrum

import (
	"math"
	"testing"
)

// What is not judged has no part in levels, and level none in what is left of a curve.
func TestJudged(t *testing.T) {
	const exactly = 1e-12
	j := Judged{true, false, true, true}
	db := []float64{3, 100, 5, 10}
	if got := j.Distance(db); math.Abs(got-math.Sqrt(26./3)) > exactly { // −3, −1 and 4 about their mean
		t.Errorf("distance %g", got)
	}
	j.Centre(db)
	for b, want := range []float64{-3, 94, -1, 4} {
		if math.Abs(db[b]-want) > exactly {
			t.Errorf("centred, band %d is %g, want %g", b, db[b], want)
		}
	}
	if in, rest := j.Mean(db, CentreHz(2), CentreHz(3)); math.Abs(in-1.5) > exactly || math.Abs(rest+3) > exactly {
		t.Errorf("mean %g within and %g besides", in, rest)
	}
	if got := MeanAt(db, j.Bands(CentreHz(2), CentreHz(3))); math.Abs(got-1.5) > exactly || !math.IsNaN(MeanAt(db, nil)) {
		t.Errorf("mean at bands %g", got)
	}
}
