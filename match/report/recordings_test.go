package report

import (
	"slices"
	"testing"
)

// Remarks call references by their numbers, so a picture names all of them.
func TestEveryReferenceIsNamed(t *testing.T) {
	r := invented("mix.wav", "one.wav", nil)
	r.References = append(r.References, recording("two.wav", -14), recording("three.wav", -14), recording("four.wav", -14))
	if got, want := recordingNotes(namedOf(r), 4)[3], "reference 3: three.wav, reference 4: four.wav"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	for range 9 {
		r.References = append(r.References, recording("more.wav", -14))
	}
	if got := recordingNotes(namedOf(r), 4)[3]; got != "and 11 more references" {
		t.Errorf("%q", got)
	}
	unnamed := []string{}
	for _, n := range namedOf(r)[:6] {
		n.Recording = recording(n.who, -14)
		unnamed = append(unnamed, restByName([]named{n}))
	}
	if !slices.Contains(unnamed, "and 1 more references") {
		t.Errorf("names are left out: %q", unnamed)
	}
}
