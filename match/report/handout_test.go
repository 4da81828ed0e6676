package report

import (
	"bytes"
	"fmt"
	"math"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/plots"
	"toneplumb/spectrum/testkit"
)

// asRead are the pages of a handout as poppler's pdftotext reads them.
func asRead(t *testing.T, look HandoutOptions, results ...*match.Result) []string {
	t.Helper()
	testkit.Tool(t, "pdftotext")
	tool := exec.Command("pdftotext", "-raw", "-", "-")
	tool.Stdin = bytes.NewReader(handoutOfTest(t, look, results...))
	out, err := tool.Output()
	if err != nil {
		t.Fatal(err)
	}
	return strings.Split(strings.TrimSuffix(string(out), "\f"), "\f")
}

func handoutOfTest(t *testing.T, look HandoutOptions, results ...*match.Result) []byte {
	t.Helper()
	var file bytes.Buffer
	var pages []*plots.Figure
	for _, r := range results {
		pages = append(pages, HandoutPages(r, look)...)
	}
	if err := plots.WritePDF(&file, pages...); err != nil {
		t.Fatal(err)
	}
	return file.Bytes()
}

// TestHandoutText holds what is written on the pages of ordinary and ugly results.
func TestHandoutText(t *testing.T) {
	all := cases()
	for name, look := range map[string]HandoutOptions{
		"plain": {Blank: true}, "none": {}, "drawn": {Letter: true}, "copied": {Sideways: true}, "several": {Sideways: true, Letter: true}, "held": {},
	} {
		if name == "several" {
			all[name] = withoutNames(all[name])
		}
		got := strings.Join(asRead(t, look, all[name]), "\n--- next page\n")
		file := filepath.Join("testdata", "handout-"+name+".txt")
		testkit.Golden(t, file, []byte(got))
	}
}

// allLooks are the papers, both ways.
var allLooks = []HandoutOptions{{}, {Sideways: true}, {Letter: true}, {Letter: true, Sideways: true}}

// TestHandoutHasAll: no paper loses a move, its reason or a sentence.
func TestHandoutHasAll(t *testing.T) {
	testkit.Skip(t, "draws many handouts")
	const mostBytes = 300_000 // what a mail takes without a thought, times ten; our choice
	for name, r := range cases() {
		for _, look := range allLooks {
			if file := handoutOfTest(t, look, r); len(file) > mostBytes {
				t.Errorf("%s %+v: %d bytes, want at most %d", name, look, len(file), mostBytes)
			}
			page := strings.Join(strings.Fields(asRead(t, look, r)[0]), " ")
			want := append(summary(r), limiterOff, listen)
			if len(r.Moves) > 0 {
				want = append(want, limiterOff+equaliserFirst)
			}
			for _, m := range r.Moves {
				want = append(want, words.FormatGain(m.GainDB)+" dB", words.FormatHz(m.Dial.FreqHz), words.Why(m))
			}
			if len(r.Moves) > 0 {
				want = append(want, "trim "+words.FormatGain(r.TrimDB)+" dB")
			}
			for _, w := range want {
				if !strings.Contains(page, w) {
					t.Errorf("%s %+v: no %q in\n%s", name, look, w, page)
				}
			}
		}
	}
}

// TestHandoutPaper: ISO 216 has A4 at 210 × 297 mm, US letter is 8.5 × 11 inches.
func TestHandoutPaper(t *testing.T) {
	testkit.Skip(t, "draws handouts for every paper")
	testkit.Tool(t, "pdfinfo")
	for i, want := range []string{"595.2 x 841.92 pts (A4)", "841.92 x 595.2 pts (A4)", "612 x 792 pts (letter)", "792 x 612 pts (letter)"} {
		tool := exec.Command("pdfinfo", "-")
		tool.Stdin = bytes.NewReader(handoutOfTest(t, allLooks[i], cases()["plain"], cases()["none"]))
		out, err := tool.CombinedOutput()
		if err != nil {
			t.Fatalf("%v: %s", err, out)
		}
		text := strings.Join(strings.Fields(string(out)), " ")
		for _, want := range []string{"Page size: " + want, "Pages: 2", "Title: Lift below 90 Hz"} {
			if !strings.Contains(text, want) {
				t.Errorf("%+v: no %q in %s", allLooks[i], want, text)
			}
		}
		if strings.Contains(text, "Date") {
			t.Errorf("%+v: has a date: %s", allLooks[i], text)
		}
	}
}

// TestHandoutIsPlain: where names stay out, a recording is called by what it is, and once.
func TestHandoutIsPlain(t *testing.T) {
	r := withoutNames(invented("/somewhere/Harbour take.wav", "Night Ferry.flac", someMoves(2)))
	text := strings.Join(asRead(t, HandoutOptions{Blank: true}, r), "\n")
	for _, f := range append(HandoutPages(r, HandoutOptions{Blank: true}), Chart(r, ChartOptions{})) {
		text += fmt.Sprintf("%+v", *f)
	}
	for _, name := range []string{"Harbour", "Ferry", ".wav", ".flac", "mix: mix", "reference: reference"} {
		if strings.Contains(text, name) {
			t.Errorf("%q is named in\n%s", name, text)
		}
	}
	if want := "reference: 3:35 · 44.1 kHz stereo · "; !strings.Contains(text, want) {
		t.Errorf("no %q in\n%s", want, text)
	}
}

// withoutNames is a result whose recordings are called by what they are.
func withoutNames(r *match.Result) *match.Result {
	names := &match.Naming{Plain: true}
	r.Mix, r.References = names.Mix(r.Mix), names.References(r.References)
	return r
}

// TestExerciseGivesNothingAway: the first page has nothing of the answer, the second all.
func TestExerciseGivesNothingAway(t *testing.T) {
	testkit.Skip(t, "draws handouts of every kind")
	for name, r := range cases() {
		pages := asRead(t, HandoutOptions{Blank: true}, r)
		if len(pages) != 2 {
			t.Fatalf("%s: %d pages", name, len(pages))
		}
		for _, secret := range []string{"target", "all moves", "each move", "trim", "dB over", "dB under", ifAllTone} {
			if strings.Contains(pages[0], secret) {
				t.Errorf("%s: the exercise has %q:\n%s", name, secret, pages[0])
			}
		}
		for _, m := range r.Moves {
			if at := words.FormatHz(m.Dial.FreqHz); strings.Contains(pages[0], at) {
				t.Errorf("%s: the exercise has %q", name, at)
			}
		}
		if !strings.HasPrefix(pages[0], "Worksheet: ") || !strings.HasPrefix(pages[1], "Solution: ") {
			t.Errorf("%s: the pages begin %.30q and %.30q", name, pages[0], pages[1])
		}
		if figure := HandoutPages(r, HandoutOptions{Blank: true})[0]; len(figure.Panels[len(figure.Panels)-1].Curves) != 1 {
			t.Errorf("%s: %d curves of difference and moves", name, len(figure.Panels[len(figure.Panels)-1].Curves))
		}
	}
}

func TestHandoutIsTheSameAgain(t *testing.T) {
	if one := handoutOfTest(t, HandoutOptions{}, cases()["long"]); !bytes.Equal(one, handoutOfTest(t, HandoutOptions{}, cases()["long"])) {
		t.Error("the same result gave other bytes")
	}
}

// TestExplain: each sentence follows from the numbers.
func TestExplain(t *testing.T) {
	zones := func(r *match.Result, name string, difference, half, fitted float64) {
		for i := range r.Zones {
			if r.Zones[i].Name == name {
				r.Zones[i].DifferenceDB, r.Zones[i].HalfDB, r.Zones[i].FittedDB = difference, half, fitted
			}
		}
	}
	level := func(db float64, moves int) *match.Result {
		r := invented("mix.wav", "ref.wav", someMoves(moves))
		for i := range r.Zones {
			if !math.IsNaN(r.Zones[i].DifferenceDB) {
				r.Zones[i].DifferenceDB, r.Zones[i].HalfDB, r.Zones[i].FittedDB = db, 0, db
			}
		}
		return r
	}
	near := level(0.2, 0)
	both := level(0, 2)
	zones(both, "low mids", 3, 0.42, 2)
	zones(both, "mids", -2, 0, -2)
	ignored := level(0, 2)
	zones(ignored, "low mids", 3, 0.42, 2)
	zones(ignored, "mids", -2, 0, 0.1)
	single := level(0, 1)
	zones(single, "lows", 2.5, 0, 2)
	single.TrimDB = 0
	lifted := level(0, 2)
	zones(lifted, "high mids", -3, 0, 0.5)
	lifted.TrimDB = 1
	unjudged := level(math.NaN(), 0)
	for _, c := range []struct {
		name     string
		r        *match.Result
		sentence int
		want     string
	}{
		{"near", near, 0, "No zone of the mix is more than 0.5 dB from the reference, ignoring level."},
		{"nothing judged", unjudged, 0, "No zone is judged in so much of its width that its tone could be told."},
		{"both sides", both, 0, "Ignoring level, the mix differs most in the low mids: 3.0 dB under the reference there (±0.4); the biggest gap the other way is the mids, 2.0 dB over."},
		{"one answers", both, 1, "Move 2 deals with the low mids: it adds 1.5 dB around 180 Hz; the trim of −1.3 dB takes back the loudness that all moves together add, so that the ear judges tone and not level. Move 1 adds 2.5 dB below 90 Hz. No move works in the mids; what is done elsewhere closes part of that gap."},
		{"one gap has no move", ignored, 1, "Move 2 deals with the low mids: it adds 1.5 dB around 180 Hz; the trim of −1.3 dB takes back the loudness that all moves together add, so that the ear judges tone and not level. Move 1 adds 2.5 dB below 90 Hz. No move deals with the mids."},
		{"the only move", single, 1, "The move deals with the lows: it adds 2.5 dB below 90 Hz, so that the ear judges tone and not level."},
		{"nothing left", single, 2, "The distance falls from 3.1 to 1.9 dB; most is left in the lows, 0.5 dB under"},
		{"none answers", lifted, 1, "Move 1 adds 2.5 dB below 90 Hz and move 2 adds 1.5 dB around 180 Hz; the trim of +1.0 dB gives back the loudness that all moves together take, so that the ear judges tone and not level. The high mids, 3.0 dB over, get no move, since another broad move would gain too little."},
		{"lifted by the trim", lifted, 2, "The distance falls from 3.1 to 1.9 dB; most is left in the high mids, 3.5 dB over"},
		{"no move", near, 2, "The distance stays at 3.1 dB. Two songs by one maker usually differ by 3 to 6 dB."},
		{"one song", cases()["copied"], 2, "The distance falls from 3.1 to 1.9 dB; most is left in the "},
	} {
		got := summary(c.r)
		if len(got) != 3 {
			t.Fatalf("%s: %d sentences", c.name, len(got))
		}
		if !strings.HasPrefix(got[c.sentence], c.want) {
			t.Errorf("%s: %q, want %q", c.name, got[c.sentence], c.want)
		}
		if strings.HasSuffix(c.want, ".") && got[c.sentence] != c.want {
			t.Errorf("%s: %q goes on after %q", c.name, got[c.sentence], c.want)
		}
	}
	if last := summary(cases()["copied"])[2]; strings.Contains(last, "musical") {
		t.Errorf("of one song: %q", last)
	}
}

// TestWhyLeft: the largest of the three reasons is given.
func TestWhyLeft(t *testing.T) {
	z := match.ZoneDifference{Zone: match.Zones()[3], DifferenceDB: 4, FittedDB: 0}
	for want, of := range map[string][3]float64{ // difference, all that stands out, moves; in the mids
		"no more than 50 % of the way was asked for":            {4, 4, 2},
		"most of that is not clearly tonal and is not followed": {4, 1, 0.5},
		"another broad move would gain too little":              {4, 4, -2},
		"": {0.2, 0.1, 0},
	} {
		r := invented("mix.wav", "ref.wav", nil)
		r.SolveOptions.TowardPercent = 50
		for b, why := range r.LeftOut {
			if why.Cause != match.Kept {
				continue
			}
			r.DifferenceDB[b], r.TargetDB[b], r.FittedDB[b] = 0, 0, 0
			if inMids := b >= 116 && b < 156; inMids { // 562 to 1778 Hz: bands from 1000·10^(−20/80)
				r.DifferenceDB[b], r.TargetDB[b], r.FittedDB[b] = of[0], of[1]/2, of[2]
			}
		}
		if got := words.WhyLeft(r.WhyLeft(z), 50); got != want {
			t.Errorf("%v: %q, want %q", of, got, want)
		}
	}
}

// Without moves there is no equaliser to put anywhere; and which variant a solution is of is nothing to watch out for.
func TestHandoutSaysWhatAppliesOnly(t *testing.T) {
	if text := fmt.Sprint(HandoutPages(cases()["none"], HandoutOptions{})[0].Paragraphs); strings.Contains(text, "Put the equaliser") {
		t.Error(text)
	}
	r := cases()["plain"]
	r.Warnings = append(r.Warnings, match.OtherMix{Variant: 2, Moves: match.Variant(2).Moves()})
	pages := HandoutPages(r, HandoutOptions{Blank: true, Variant: 2})
	const variant = "This is variant 2"
	for i, want := range []bool{false, true} {
		if got := strings.Contains(strings.Join(pages[i].Lines, "\n"), variant); got != want {
			t.Errorf("page %d: %q", i, pages[i].Lines)
		}
		if text := fmt.Sprint(pages[i].Paragraphs); strings.Contains(text, variant) {
			t.Errorf("page %d: %s", i, text)
		}
	}
}
