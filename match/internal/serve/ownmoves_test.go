package serve

import (
	"bytes"
	"strings"
	"testing"
)

// A gain set by hand does not stretch its likely range to it, is seen to be outside it, and is named as somebody's own on the page
// and in what is taken away. So is a set from which a move was only taken out.
func TestOwnMovesAreNoAdvice(t *testing.T) {
	v := enter(t)
	mix, ref := v.drop("m.wav", sound(t, 12, 1, faults...)), v.drop("r.wav", sound(t, 12, 2))
	v.measured(mix)
	v.measured(ref)
	ask := usual(mix, ref)
	var advised, own resultAnswer
	v.post("/result", ask, &advised)
	if len(advised.Advised) == 0 || strings.HasPrefix(advised.Headline, "Your moves") {
		t.Fatalf("%d moves: %s", len(advised.Advised), advised.Headline)
	}
	set := []dialled{{Shape: "bell", FreqHz: 1000, GainDB: 0.5, Width: 1, On: true}}
	v.post("/result", with(ask, "dialled", set), &own)
	if !strings.HasPrefix(own.Headline, "Your moves: ") {
		t.Error(own.Headline)
	}
	set[0].GainDB, set[0].Hand = 12, true
	v.post("/result", with(ask, "dialled", set), &own)
	if now := own.Rows[0]; strings.Contains(now.Interval, "+") || !strings.Contains(now.Interval, "−") || !now.Outside { // here it is a cut
		t.Errorf("%+v", now)
	}
	var made struct{ Path string }
	v.post("/export/page.html", with(ask, "dialled", set), &made)
	var kept bytes.Buffer
	v.ask("GET", "/"+made.Path, nil, &kept)
	for _, want := range []string{">Your moves: ", "set by hand, outside the likely range"} {
		if !strings.Contains(strings.ReplaceAll(kept.String(), "Set by", "set by"), want) {
			t.Errorf("the page to keep lacks %q", want)
		}
	}
}

// A gain set by hand as measured stays at a stage that allows less; from there a step up changes nothing, and one down leads
// to the end of the range.
func TestStepsFromBeyondTheRange(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	const cell = "#rows li:first-of-type [data-name=gain_db] "
	gain := func(when, want string) {
		t.Helper()
		b.Until(settled)
		b.Want(when, `shownMoves()[0].gain_db`, want)
	}
	b.set("#stage", "as measured")
	b.Until(settled)
	b.set(cell+"input[type=text]", "9")
	gain("as measured", "9")
	b.set("#stage", "rough")
	gain("at another stage", "9")
	b.click(cell + "button:last-of-type")
	gain("a step up", "9")
	b.click(cell + "button:first-of-type")
	gain("a step down", "6")
	for call, want := range map[string]string{
		`{ values: [], step: 0, min: -6, max: 6 }, 9, 1`: "9", `{ values: [], step: 0, min: -6, max: 6 }, 9, -1`: "6",
		`{ values: [1, 2, 4] }, 0.5, -1`: "0.5", `{ values: [1, 2, 4] }, 0.5, 1`: "1", `{ values: [1, 2, 4] }, 3, 1`: "4", `{ values: [1, 2, 4] }, 4, 1`: "4",
	} {
		b.Want("nextOn "+call, "nextOn("+call+")", want)
	}
	b.Quiet()
}
