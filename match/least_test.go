package match

import (
	"math"
	"testing"

	"toneplumb/biquad"
)

// No move is smaller than was asked for, at any share of the way, and what is left still helps.
func TestLeastMoves(t *testing.T) {
	large := through(biquad.Filter{Shape: biquad.Bell, FreqHz: 300, GainDB: 6, Q: 0.8})
	small := through(biquad.Filter{Shape: biquad.Bell, FreqHz: 3000, GainDB: 1.5, Q: 0.8})
	other := func(hz float64) float64 { return large(hz) + small(hz) }
	for _, row := range []struct {
		name string
		c    *Comparison
	}{
		{"its own song", compare(t, invented(1, 90, flat), invented(1, 90, other))},
		{"another song", compare(t, invented(1, 90, flat), invented(2, 90, other))},
	} {
		for toward, least := range map[float64]float64{60: 2, 100: 3} {
			o := DefaultSolve()
			o.TowardPercent = toward
			smallest := func(least float64) (gainDB float64, r *Result) {
				o.LeastDB, gainDB = least, math.Inf(1)
				r = row.c.Solve(o)
				for _, m := range r.Moves {
					gainDB = min(gainDB, math.Abs(m.GainDB))
				}
				return gainDB, r
			}
			if got, _ := smallest(0); got >= least {
				t.Errorf("%s, %g %%: without a least gain the smallest is %g dB already", row.name, toward, got)
			}
			if got, r := smallest(least); got < least || len(r.Moves) == 0 || r.DistanceAfterDB >= r.DistanceBeforeDB {
				t.Errorf("%s, %g %%: the smallest of %d moves is %g dB, want %g; %.2f → %.2f dB", row.name, toward, len(r.Moves), got, least, r.DistanceBeforeDB, r.DistanceAfterDB)
			}
			if _, r := smallest(6); toward < 100 && r.Outlook != NoneHelps {
				t.Errorf("%s, %g %%: %d moves of 6 dB, outlook %s", row.name, toward, len(r.Moves), r.Outlook.Code())
			}
		}
	}
}
