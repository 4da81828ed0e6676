package report

import (
	"slices"
	"strings"
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

// What is dialled from a paper says for which equaliser it is.
func TestPapersNameTheEqualiser(t *testing.T) {
	r := cases()["plain"]
	r.SolveOptions.Equaliser.Name = "the one in my-eq.json"
	const want = "equaliser: the one in my-eq.json"
	pages := append(HandoutPages(r, HandoutOptions{Blank: true}), Chart(r, ChartOptions{}))
	for i, page := range pages {
		if !slices.Contains(page.Lines, want) {
			t.Errorf("page %d: %q", i, page.Lines)
		}
	}
	var notes strings.Builder
	if err := Markdown(&notes, r); err != nil || !strings.Contains(notes.String(), "\n"+want+"\n") {
		t.Errorf("%v, notes %q", err, notes.String())
	}
}
