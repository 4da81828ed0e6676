package match

import (
	"math"
	"slices"
	"testing"

	"toneplumb/biquad"
)

// A mix has not moved against itself, though fewer bands of it were judged before: no zone has, and the shift brings the
// curve then onto that of now.
func TestProgressOfBandsInBoth(t *testing.T) {
	k := compare(t, invented(1, 90, through(biquad.Filter{Shape: biquad.HighShelf, FreqHz: 4000, GainDB: 6, Q: 0.7})), invented(1, 90, flat)).Verdict(0)
	before := *k.Comparison
	before.judged, before.DifferenceDB = slices.Clone(before.judged), slices.Clone(before.DifferenceDB)
	for _, b := range before.judged.Bands(4000, 20000) {
		before.judged[b] = false
	}
	before.judged.Centre(before.DifferenceDB)
	k.SetBefore(&before)
	if p := k.Since; !p.Narrower || p.HighHz > 4100 || math.Abs(p.ShiftDB) < 0.5 {
		t.Fatalf("from %g to %g Hz, shift %g dB: too little for this test", p.LowHz, p.HighHz, p.ShiftDB)
	}
	const slackDB = 1e-9 // of rounding
	for _, z := range k.Since.Zones {
		if moved := z.MovedDB(); math.Abs(moved) > slackDB { // false for zones that are not judged in both
			t.Errorf("%s: moved by %g dB", z.Name, moved)
		}
	}
	for b, now := range k.DifferenceDB {
		if then := before.DifferenceDB[b] + k.Since.ShiftDB; math.Abs(then-now) > slackDB {
			t.Errorf("band %d: %g dB, want %g", b, then, now)
		}
	}
	clear(before.judged)
	if k.SetBefore(&before); k.Since.LowHz != 0 || k.Since.ShiftDB != 0 {
		t.Errorf("nothing in both: %+v", k.Since)
	}
}
