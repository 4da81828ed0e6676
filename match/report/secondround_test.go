package report

import (
	"math"
	"slices"
	"strings"
	"testing"

	"toneplumb/match"
	"toneplumb/plots"
)

// Both panels of a mix that was bounced through moves show the mix in one state, by the strong line, and
// the other state by the thin one: reference less mix above is the difference below.
func TestPanelsAgreeAfterABounce(t *testing.T) {
	for _, c := range []struct {
		use          match.PreviousUse
		strong, thin string
	}{{match.Held, "mix", "without your moves"}, {match.Replaced, "mix without your moves", "as bounced"}} {
		r := invented("second.wav", "ref.wav", someMoves(3))
		r.Warnings = append(r.Warnings, match.PreviousMoves{Use: c.use, FittedDB: r.FittedDB})
		f := Chart(r, ChartOptions{})
		levels, differences := f.Panels[0].Curves, f.Panels[1].Curves
		for name, below := range map[string]string{c.strong: strings.Replace(c.strong, "mix", "difference", 1), c.thin: c.thin} {
			mix, difference := curveOf(t, levels, name), curveOf(t, differences, below)
			for b, reference := range r.ReferenceDB {
				if want := reference - mix.DB[b]; !math.IsNaN(want) && math.Abs(difference.DB[b]-want) > 1e-9 {
					t.Fatalf("%s, %q: %.2f dB below, %.2f dB above, in band %d", c.strong, name, difference.DB[b], want, b)
				}
			}
			if mix.Style != difference.Style || (mix.Style.Weight == plots.Strong) != (name == c.strong) {
				t.Errorf("%q is drawn %+v above and %+v below", name, mix.Style, difference.Style)
			}
		}
		bounced, b := levels[1], 40
		if c.use == match.Replaced {
			bounced = levels[2]
		}
		if want := r.MixDB[b] + r.FittedDB[b]; bounced.DB[b] != want {
			t.Errorf("%q as bounced: %.2f dB, want %.2f", c.strong, bounced.DB[b], want)
		}
	}
}

func curveOf(t *testing.T, all []plots.Curve, name string) plots.Curve {
	t.Helper()
	i := slices.IndexFunc(all, func(c plots.Curve) bool { return c.Name == name })
	if i < 0 {
		t.Fatalf("no curve %q", name)
	}
	return all[i]
}

// A page that says to change nothing asks for no move anywhere.
func TestKeptMovesAreNotAskedForAgain(t *testing.T) {
	r := cases()["held"]
	f := Chart(r, ChartOptions{})
	if f.Table.Header[1] != "dialled already" || slices.Contains(f.Table.Header, ifAllTone) || !strings.HasPrefix(f.Panels[1].Title, "what is left") {
		t.Errorf("header %q, panel %q", f.Table.Header, f.Panels[1].Title)
	}
	said := strings.Join(slices.Concat(summary(r), aloud(r)), " ")
	for _, amiss := range []string{"deals with", "falls from", "So add"} {
		if strings.Contains(said, amiss) {
			t.Errorf("%q in %q", amiss, said)
		}
	}
}
