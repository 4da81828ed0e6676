package report

import (
	"fmt"
	"slices"
	"testing"

	"toneplumb/match"
	"toneplumb/match/words"
)

// Of many references there is one note of a kind; the mix itself is never to be used.
func TestNearestNotes(t *testing.T) {
	of := func(n int, change func(i int, n *match.RankedReference)) []match.RankedReference {
		all := make([]match.RankedReference, n)
		for i := range all {
			all[i].Reference, all[i].Index, all[i].JudgedHz[1] = recording(fmt.Sprintf("%d.wav", i+1), -14), i, 16000
			change(i, &all[i])
		}
		return all
	}
	odd := of(4, func(i int, n *match.RankedReference) {
		if i == 2 {
			n.Odd = &match.OddReference{Index: 2, DistanceDB: 9.14, OthersDB: 3.2}
		}
	})
	isMix := of(5, func(i int, n *match.RankedReference) {})
	match.MarkItself(isMix, func(i int) bool { return i == 1 })
	for _, row := range []struct {
		name  string
		all   []match.RankedReference
		notes []string
		use   string
	}{
		{"nothing", of(2, func(i int, n *match.RankedReference) {}), []string{}, "With 3 or fewer there is nothing to choose: use all of them."},
		{"itself", isMix, []string{"2.wav is the mix itself, so it is no reference."},
			"Use together: 1.wav, 3.wav, 4.wav."},
		{"an odd one", odd, []string{"3.wav makes most of the spread of the three to use: 9.1 dB from the mean of the other two. Those are 3.2 dB apart: listen whether it belongs with them."},
			"Use together: 1.wav, 2.wav, 3.wav."},
		{"all far", of(2, func(i int, n *match.RankedReference) { n.DistanceDB = 11.2 + float64(i) }), []string{},
			"Look for others: even the nearest is 11.2 dB apart, farther than nine in ten pairs of songs by one maker. With 3 or fewer there is nothing to choose: use all of them."},
		{"copies alone", of(2, func(i int, n *match.RankedReference) { n.SameSong = true }),
			[]string{"1.wav and 2.wav are the mix's own song: the difference is processing, not another record."}, "Nothing to use: every reference is the mix's own song."},
		{"640 of 1000", of(1000, func(i int, n *match.RankedReference) {
			if i < 640 {
				n.JudgedHz[1] = 14000 - float64(i)
			}
		}),
			[]string{"640 of 1000 references are judged only up to 13.4 kHz to 14 kHz."},
			"Use together: 1.wav, 2.wav, 3.wav."},
	} {
		if got := words.Findings(match.NearestFindings(row.all)); !slices.Equal(got, row.notes) {
			t.Errorf("%s: %q, want %q", row.name, got, row.notes)
		}
		if got := NearestHeadline(row.all); got != row.use {
			t.Errorf("%s: %q, want %q", row.name, got, row.use)
		}
	}
}
