package match

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"toneplumb/biquad/fit"
	"toneplumb/spectrum/measure"
)

// Of many references there is one remark of a kind, with how many, and of a few which.
func TestOneRemarkOfAKind(t *testing.T) {
	mix := invented(1, 90, flat)
	base, short := invented(2, 90, flat), invented(3, 40, flat)
	of := func(n int, change func(i int, r *measure.Recording)) []*measure.Recording {
		var all []*measure.Recording
		for i := range n {
			own := *base
			all = append(all, with(&own, func(r *measure.Recording) { change(i, r) }))
		}
		return all
	}
	for _, row := range []struct {
		name       string
		references []*measure.Recording
		want       []string // every remark about references
	}{
		{"one of two", of(2, func(i int, r *measure.Recording) { r.CutoffHz = float64(16500 * i) }),
			[]string{"reference 2 stops at 16.5 kHz, as a 128 kbit/s MP3 does; nothing is advised above 13.9 kHz"}},
		{"three of four, alike", of(4, func(i int, r *measure.Recording) { r.CutoffHz = float64(16500 * min(i, 1)) }),
			[]string{"3 of 4 references (2, 3, 4) stop at 16.5 kHz, as a 128 kbit/s MP3 does; nothing is advised above 13.9 kHz"}},
		{"six of nine, each its own", of(9, func(i int, r *measure.Recording) {
			if i%3 > 0 {
				r.CutoffHz = 15000 + 100*float64(i)
			}
		}),
			[]string{"6 of 9 references stop between 15.1 kHz and 15.8 kHz, as lossy coding or lower sample rates leave them; nothing is advised above"}},
		{"both short", []*measure.Recording{short, short},
			[]string{"both references hold only 0:40 of music each: their tone is that of phrases, not of songs"}},
		{"damage that differs in its figures", of(8, func(i int, r *measure.Recording) {
			r.Warnings = []string{fmt.Sprintf("%d frames are broken", i+1), "it is older than its format"}
		}),
			[]string{"all 8 references, reference 1 for example: 1 frames are broken", "all 8 references: it is older than its format"}},
		{"one damaged twice", of(2, func(i int, r *measure.Recording) {
			if i == 1 {
				r.Warnings = []string{"3 frames are broken", "4 frames are broken"}
			}
		}),
			[]string{"reference 2: 3 frames are broken", "reference 2: 4 frames are broken"}},
	} {
		r := compare(t, mix, row.references...).Solve(SolveOptions{Equaliser: fit.Default()})
		got := slices.DeleteFunc(slices.Clone(r.Warnings), func(w string) bool { return !strings.Contains(w, "reference") || strings.Contains(w, "below ") })
		if len(got) != len(row.want) {
			t.Errorf("%s: %d remarks, want %d:\n%s", row.name, len(got), len(row.want), strings.Join(got, "\n"))
			continue
		}
		for i, w := range row.want {
			if !strings.HasPrefix(got[i], w) {
				t.Errorf("%s: %q, want %q", row.name, got[i], w)
			}
		}
	}
}

func TestOneNoteOnParts(t *testing.T) {
	references := slices.Repeat([]*measure.Recording{invented(2, 90, flat)}, 7)
	_, _, notes, err := Parts{LoudestSec: 30}.Apply(invented(1, 90, flat), references)
	if want := "of all 7 references only the loudest parts count, 0:30 of each"; err != nil || len(notes) != 2 || notes[1] != want {
		t.Errorf("%q, %v; want %q last of two", notes, err, want)
	}
	_, _, notes, err = Parts{Reference: measure.Passages{{10, 50}}}.Apply(invented(1, 90, flat), references)
	if want := "of all 7 references only this part counts: 0:10-0:50"; err != nil || len(notes) != 1 || notes[0] != want {
		t.Errorf("%q, %v; want %q alone", notes, err, want)
	}
}
