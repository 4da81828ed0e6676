package report

import (
	"math"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match"
)

// The solution of a worksheet says why in three sentences short enough to read out.
func TestAloud(t *testing.T) {
	const mostWords = 30
	cut := invented("mix.wav", "ref.wav", someMoves(3))
	near := invented("mix.wav", "ref.wav", nil)
	near.Outlook = match.NothingToDo
	for i := range near.Zones {
		near.Zones[i].DifferenceDB = 0.2
	}
	for _, c := range []struct {
		name string
		r    *match.Result
		want []string
	}{
		{"moves", cut, []string{"Beside the reference this mix has about 2 decibels too much in the highs, and about 2 decibels too little in the low mids.", "So add 1.5 decibels around 180 Hz for the low mids. With the rest of the table that leaves 1.9 of 3.1 decibels.", "Leave the highs alone, since "}},
		{"nothing", near, []string{"Beside the reference this mix is right in every zone", "So dial nothing. Nothing to do", "Nothing is left"}},
		{"dialled already", cases()["held"], []string{"Beside the reference this mix has about 2 decibels too little in the low mids, and about 2 decibels too much in the highs.", "Change nothing: your moves leave 1.9 of 3.1 decibels", "Leave the highs"}},
		{"no move for either", off(map[string]float64{"highs": -3, "low mids": -2}, someMoves(1)), []string{"Beside the reference this mix has about 3 decibels too much in the highs.", "Dial the table: that leaves", "Leave the highs alone"}},
		{"one move for both", off(map[string]float64{"lows": 3, "sub": 0, "highs": -1}, someMoves(1)), []string{"Beside the reference this mix has about 3 decibels too little in the lows, and about 1 decibel too much in the highs.", "So add 2.5 decibels below 90 Hz for the lows. No move deals with the highs. That leaves", ""}},
	} {
		got := aloud(c.r)
		for i, want := range c.want {
			if !strings.HasPrefix(got[i], want) || len(strings.Fields(got[i])) > mostWords {
				t.Errorf("%s: %q, want %q and %d words at most", c.name, got[i], want, mostWords)
			}
		}
	}
	for name, r := range cases() {
		if r.Mix == nil {
			continue
		}
		for _, said := range aloud(r) {
			if strings.Contains(said, "NaN") || strings.Contains(said, "  ") || math.IsNaN(r.DistanceBeforeDB) {
				t.Errorf("%s: %q", name, said)
			}
		}
	}
}

// off is a result that is off by these amounts in zones and level elsewhere.
func off(zones map[string]float64, moves []biquad.Filter) *match.Result {
	r := invented("mix.wav", "ref.wav", moves)
	for i, z := range r.Zones {
		if !math.IsNaN(z.DifferenceDB) {
			r.Zones[i].DifferenceDB, r.Zones[i].HalfDB, r.Zones[i].FittedDB = zones[z.Name], 0, 0
		}
	}
	return r
}
