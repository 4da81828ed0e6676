package match

import (
	"strings"
	"testing"
)

func TestConfirmWarns(t *testing.T) {
	for _, c := range []struct {
		name   string
		dBTP   float64
		wanted string // in the first warning; "" for none of the peak
	}{
		{"over full scale", 0.83, "+0.8 dBTP, above −1.0: a converter or a lossy encoder may clip it. Lower the equaliser's output by 1.9 dB"},
		{"under it", -0.95, "−0.9 dBTP"},
		{"as R 128 has it", -1, ""},
		{"low", -12, ""},
	} {
		r := &Result{Warnings: []string{"another"}}
		before := r.Warnings
		r.Confirm(Confirmed{TruePeakDBTP: c.dBTP})
		r.Confirm(Confirmed{TruePeakDBTP: c.dBTP}) // told once
		want := 1
		if c.wanted != "" {
			want++
		}
		if len(r.Warnings) != want || want == 2 && !strings.Contains(r.Warnings[0], c.wanted) || r.Confirmed.TruePeakDBTP != c.dBTP {
			t.Errorf("%s: %q, want %q in the first of %d", c.name, r.Warnings, c.wanted, want)
		}
		if before[0] != "another" {
			t.Errorf("%s: others' warnings are written over", c.name)
		}
	}
}
