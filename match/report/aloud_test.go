package report

import (
	"math"
	"strings"
	"testing"

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
		{"moves", cut, []string{"Beside the reference this mix has about 2 decibels too much in the highs, and about 2 decibels too little in the low mids.", "So add 2.5 decibels below 90 Hz", "Leave the highs alone, since "}},
		{"nothing", near, []string{"Beside the reference this mix is right in every zone", "So dial nothing. Nothing to do", "Nothing is left"}},
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
