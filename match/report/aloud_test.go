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
		{"moves", cut, []string{"Beside the reference this mix has about 2 decibels too much in the highs, and about 2 decibels too little in the low mids.", "So add 1.5 decibels around 180 Hz for the low mids. Then add 2.5 decibels below 90 Hz and add 0.5 decibels around 360 Hz. That leaves 1.9 of 3.1 decibels.", "Leave the highs alone, since "}},
		{"nothing", near, []string{"Beside the reference this mix is right in every zone", "So dial nothing. Nothing to do", "Nothing is left"}},
		{"dialled already", cases()["held"], []string{"Beside the reference this mix has about 2 decibels too little in the low mids, and about 2 decibels too much in the highs.", "Change nothing: your moves leave 1.9 of 3.1 decibels", "Leave the highs"}},
		{"no move for either", off(map[string]float64{"highs": -3, "low mids": -2}, someMoves(1)), []string{"Beside the reference this mix has about 3 decibels too much in the highs.", "So add 2.5 decibels below 90 Hz. That leaves", "Leave the highs alone"}},
		{"one move for both", off(map[string]float64{"lows": 3, "sub": 0, "highs": -1}, someMoves(1)), []string{"Beside the reference this mix has about 3 decibels too little in the lows, and about 1 decibel too much in the highs.", "So add 2.5 decibels below 90 Hz for the lows. No move deals with the highs. That leaves", ""}},
	} {
		got := aloud(c.r)
		for i, want := range c.want {
			if !strings.HasPrefix(got[i], want) {
				t.Errorf("%s: %q, want %q", c.name, got[i], want)
			}
			for sentence := range strings.SplitSeq(got[i], ". ") {
				if len(strings.Fields(sentence)) > mostWords {
					t.Errorf("%s: %q has more than %d words", c.name, sentence, mostWords)
				}
			}
		}
	}
	for name, r := range cases() {
		if r.Mix == nil {
			continue
		}
		for k := range r.Moves {
			if said := strings.Join(aloud(r), " "); !held(r) && !strings.Contains(said, doAloud(r.Moves[k])) {
				t.Errorf("%s: move %d is not in %q", name, k+1, said)
			}
			if said := strings.Join(summary(r), " "); len(r.Moves) < 6 && !held(r) && !strings.Contains(said, does(r.Moves[k])) {
				t.Errorf("%s: move %d is not in %q", name, k+1, said)
			}
		}
		for _, said := range aloud(r) {
			if strings.Contains(said, "NaN") || strings.Contains(said, "  ") || math.IsNaN(r.DistanceBeforeDB) {
				t.Errorf("%s: %q", name, said)
			}
		}
	}
}

// A zone that comes nearer only since level is ignored has no move that deals with it.
func TestElsewhereAloud(t *testing.T) {
	r := off(map[string]float64{"lows": 3, "highs": -2}, someMoves(1))
	for i, z := range r.Zones {
		if z.Name == "highs" {
			r.Zones[i].FittedDB = -1
		}
	}
	want := "So add 2.5 decibels below 90 Hz for the lows. No move works in the highs; what is done elsewhere closes part of that gap. That leaves"
	if got := aloud(r)[1]; !strings.HasPrefix(got, want) {
		t.Errorf("%q, want %q", got, want)
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
