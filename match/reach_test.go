package match

import (
	"math"
	"slices"
	"testing"

	"toneplumb/biquad"
)

// A shelf that goes on where an octave and more is not judged is remarked on.
func TestReachesOut(t *testing.T) {
	for _, row := range []struct {
		name   string
		gainDB float64
		cutHz  float64 // of the reference
		want   bool
	}{{"a lift far above", 8, 7000, true}, {"a cut far above", -8, 7000, true}, {"a small one", 3, 7000, false}, {"an MP3's end", 8, 16000, false}} {
		ref := invented(2, 90, flat)
		ref.CutoffHz = row.cutHz
		c := compare(t, invented(1, 90, flat), ref)
		r := c.With([]biquad.Filter{{Shape: biquad.HighShelf, FreqHz: 4000, GainDB: row.gainDB, Q: math.Sqrt2 / 2}}, DefaultSolve())
		far, does := r.reachesOut()
		if does != row.want || does && (!far.Above || far.Hz < 5000 || far.Hz > 7000 || far.DB*row.gainDB < 0) {
			t.Errorf("%s: %v %+v", row.name, does, far)
		}
		if does != slices.Contains(codes(r.Warnings), "reaches-out") {
			t.Errorf("%s: %v", row.name, codes(r.Warnings))
		}
	}
}

// Whole songs are not told that longer ones may tell.
func TestIsShort(t *testing.T) {
	for sec, want := range map[int]bool{60: true, 240: false} {
		if got := compare(t, invented(1, 240, flat), invented(2, sec, flat)).IsShort(); got != want {
			t.Errorf("a reference of %d s: %v", sec, got)
		}
	}
}
