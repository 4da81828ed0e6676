package serve

import (
	"bytes"
	"context"
	"image/png"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"toneplumb/match"
	"toneplumb/match/document"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/profile"
	"toneplumb/spectrum/testkit"
)

// asSaid is half the last digit of what is told with two decimals.
const asSaid = 0.005

// The page gets what the command line finds, and every file that can be taken away is
// what it says.
func TestWholeJob(t *testing.T) {
	v := enter(t)
	mixWAV, refWAV := sound(t, 24, 1, faults...), sound(t, 24, 2)
	mix, ref := v.drop(uploadFolder+"rough mix.wav", mixWAV), v.drop("référence.wav", refWAV)
	for _, id := range []string{mix, ref} {
		if s := v.measured(id); s.State != ready || math.Abs(float64(s.Duration)-24) > asSaid || len(s.LevelsLUFS) != 24 {
			t.Fatalf("a recording is %+v", s)
		}
	}
	want := byMatch(t, mixWAV, refWAV).Solve(match.DefaultSolve())
	if len(want.Moves) == 0 {
		t.Fatal("the test's own sounds need no moves")
	}

	ask := usual(mix, ref)
	var got resultAnswer
	if code := v.post("/result", ask, &got); code != http.StatusOK {
		t.Fatalf("the result is answered with %d", code)
	}
	if got.Waiting || len(got.Advised) != len(want.Moves) || len(got.Rows) != len(want.Moves) || math.Abs(float64(got.After)-want.DistanceAfterDB) > asSaid {
		t.Fatalf("%d moves, distance %g; match finds %d, %g", len(got.Advised), got.After, len(want.Moves), want.DistanceAfterDB)
	}
	for i, m := range want.Moves {
		if g := got.Advised[i]; g.Shape != m.Shape.String() || math.Abs(float64(g.FreqHz)-m.Dial.FreqHz) > asSaid*m.Dial.FreqHz || math.Abs(float64(g.GainDB)-m.Dial.GainDB) > asSaid || !g.On {
			t.Errorf("move %d is %+v; match finds %v", i+1, g, m.Filter)
		}
	}
	if len(got.Curves.FreqHz) != len(got.Curves.MixDB) || got.Headline == "" || got.Confirmed != nil || !got.Sound {
		t.Errorf("headline %q, confirmed %v, sound %v", got.Headline, got.Confirmed, got.Sound)
	}

	// By hand: the first move off, the second turned over.
	moves := append([]dialled{}, got.Advised...)
	moves[0].On = false
	moves[1].GainDB = -moves[1].GainDB
	var byHand resultAnswer
	v.post("/result", with(ask, "dialled", moves), &byHand)
	if byHand.AdvisedAfter == nil || math.Abs(float64(*byHand.AdvisedAfter-got.After)) > asSaid || !(byHand.After > got.After) {
		t.Errorf("by hand the distance is %g, as advised %v; it was %g", byHand.After, byHand.AdvisedAfter, got.After)
	}
	if len(byHand.Rows) != len(got.Rows)-1 || byHand.Rows[0].Of == 0 {
		t.Errorf("rows by hand: %+v", byHand.Rows)
	}

	var peak resultAnswer
	if code := v.post("/confirm", ask, &peak); code != http.StatusOK || peak.Confirmed == nil || math.Abs(float64(peak.Confirmed.AfterLUFS-peak.Confirmed.BeforeLUFS)) > 0.15 { // the trim's 0.1 dB and its prediction
		t.Fatalf("confirming is answered with %d: %+v", code, peak)
	}
	v.post("/result", ask, &got)
	if got.Confirmed == nil || *got.Confirmed != *peak.Confirmed {
		t.Errorf("the result afterwards has %v", got.Confirmed)
	}
	v.post("/result", with(ask, "dialled", moves), &byHand)
	if byHand.Confirmed != nil {
		t.Error("other moves have the true peak of these")
	}
	checkTakes(t, v, ask, want)

	var history struct{ Comparisons []*historyEntry }
	v.ask("GET", "/history", nil, &history)
	if len(history.Comparisons) != 1 || history.Comparisons[0].Mix != "rough mix.wav" || history.Comparisons[0].ID != got.Comparison || peak.Comparison != got.Comparison {
		t.Errorf("the history has %+v", history.Comparisons)
	}
	if code := v.ask("DELETE", "/recordings/"+ref, nil, nil); code != http.StatusNoContent {
		t.Errorf("taking a recording away is answered with %d", code)
	}
	if _, err := os.Stat(filepath.Join(v.server.folder, ref)); err == nil {
		t.Error("the sound of a recording that was taken away is still there")
	}
	var refused userError
	if code := v.post("/result", ask, &refused); code != http.StatusUnprocessableEntity || refused.What != "there is no reference" {
		t.Errorf("without its reference the result is answered with %d, %q", code, refused.What)
	}
}

// uploadFolder stands before the name of an upload, as other programs than browsers send it.
const uploadFolder = `C:\Users\orla_quince\bounces\`

// A file of the server's own that cannot be read is told without its path.
func TestTroubleHasNoPath(t *testing.T) {
	_, err := os.Open(filepath.Join(t.TempDir(), "gone"))
	if got := userErrorOf(err, "").What; strings.ContainsAny(got, `/\`) || got == "" {
		t.Errorf("%q", got)
	}
}

// byMatch compares two files as the command line does.
func byMatch(t *testing.T, mixWAV, refWAV []byte) *match.Comparison {
	t.Helper()
	var both []*measure.Recording
	for _, raw := range [][]byte{mixWAV, refWAV} {
		path := filepath.Join(t.TempDir(), "x.wav")
		if err := os.WriteFile(path, raw, 0o600); err != nil {
			t.Fatal(err)
		}
		src, err := audio.Open(context.Background(), path)
		if err != nil {
			t.Fatal(err)
		}
		r, err := measure.Measure(context.Background(), src, path)
		src.Close()
		if err != nil {
			t.Fatal(err)
		}
		both = append(both, r)
	}
	c, err := match.Compare(both[0], both[1:], match.DefaultCompare())
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func checkTakes(t *testing.T, v *visit, ask map[string]any, want *match.Result) {
	t.Helper()
	for name, right := range map[string]func([]byte) bool{
		"chart.png":   func(b []byte) bool { _, err := png.Decode(bytes.NewReader(b)); return err == nil },
		"handout.pdf": func(b []byte) bool { return bytes.HasPrefix(b, []byte("%PDF-")) },
		"settings.json": func(b []byte) bool {
			s, err := document.ReadSettings(bytes.NewReader(b))
			return err == nil && len(s.Moves) == len(want.Moves)
		},
		"page.html": func(b []byte) bool {
			return bytes.HasPrefix(b, []byte("<!DOCTYPE html>")) && bytes.Contains(b, []byte(`id="sound-mix"`)) && !bytes.Contains(b, []byte(`id="sound-reference"`))
		},
		"profile.json": func(b []byte) bool {
			p, err := profile.Read(bytes.NewReader(b), "profile.json")
			return err == nil && len(p) == 1
		},
		"mix.wav": func(b []byte) bool { return len(b) == 24*44100*4+44 },
	} {
		var d struct{ Path, Name string }
		if code := v.post("/export/"+name, ask, &d); code != http.StatusOK {
			t.Errorf("%s is answered with %d", name, code)
			continue
		}
		var content bytes.Buffer
		if code := v.ask("GET", "/"+d.Path, nil, &content); code != http.StatusOK || !right(content.Bytes()) {
			t.Errorf("%s has %d bytes that are not it (%d)", name, content.Len(), code)
		}
		for _, folder := range []string{v.server.folder, uploadFolder} {
			if strings.Contains(d.Name+content.String(), folder) {
				t.Errorf("%s holds the folder %q", name, folder)
			}
		}
	}
	if n := len(exportNames) + 2; n != 6 { // the profile and the mix through the moves
		t.Errorf("there are %d things to take away, 6 are checked", n)
	}
}

// What the other choice of stage would do is said as the command line says it, also in what
// is taken away from then on.
func TestAlternative(t *testing.T) {
	testkit.Skip(t, "advises twice")
	v := enter(t)
	mixWAV, refWAV := sound(t, 24, 1, faults...), sound(t, 24, 2)
	mix, ref := v.drop("m.wav", mixWAV), v.drop("r.wav", refWAV)
	v.measured(mix)
	v.measured(ref)
	want := byMatch(t, mixWAV, refWAV).Solve(match.DefaultSolve())
	want.SetOthers()
	want.SetSides()
	var got alternativeAnswer
	if code := v.post("/alternative", usual(mix, ref), &got); code != http.StatusOK {
		t.Fatalf("the alternative is answered with %d", code)
	}
	said := report.Sentences(want)
	if got.Other == "" || !slices.Contains(said, got.Other) || !slices.Equal(got.Findings, said) {
		t.Errorf("the page says %q in %q, match %q", got.Other, got.Findings, said)
	}
	var result resultAnswer
	v.post("/result", usual(mix, ref), &result)
	if !slices.Contains(result.Words.Findings, got.Other) {
		t.Errorf("afterwards the result says %q", result.Words.Findings)
	}
	// Where what is heard starts can be chosen, within the recording.
	for start, from := range map[float64]float64{3: 3, 1e9: 24 - leastHeardSec, -1: 0} {
		var heard playerAnswer
		v.post("/player", with(usual(mix, ref), "hear_mix_s", start), &heard)
		if f := float64(heard.Player.Sources[0].FromS); f != from {
			t.Errorf("heard from %g s where %g was chosen", f, start)
		}
	}
}

// While the moves are worked out the chart is answered with those of before; then they
// are there.
func TestMeanwhile(t *testing.T) {
	v := enter(t)
	mix, ref := v.drop("m.wav", sound(t, 12, 1, faults...)), v.drop("r.wav", sound(t, 12, 2))
	v.measured(mix)
	v.measured(ref)
	var first, quick, full, again resultAnswer
	ask := usual(mix, ref)
	v.post("/result", ask, &first)
	other := with(ask, "smooth_oct", 1)
	v.post("/result", with(other, "meanwhile", first.Advised), &quick)
	if !quick.Waiting || len(quick.Rows) != len(first.Advised) || quick.Advised != nil || quick.Comparison != "" {
		t.Errorf("at once: waiting %v, %d rows", quick.Waiting, len(quick.Rows))
	}
	v.post("/result", other, &full)
	if full.Waiting || full.Before != quick.Before {
		t.Errorf("then: waiting %v, distance %g, at once it was %g", full.Waiting, full.Before, quick.Before)
	}
	v.post("/result", with(other, "meanwhile", first.Advised), &again)
	if again.Waiting || !reflect.DeepEqual(again.Curves, full.Curves) {
		t.Error("what is known is not answered at once")
	}
}

// A new bounce that runs through the moves: its distance as bounced, and what replaces
// them; there is no confirming it.
func TestBounce(t *testing.T) {
	testkit.Skip(t, "renders a mix")
	v := enter(t)
	mix, ref := v.drop("m.wav", sound(t, 12, 1, faults...)), v.drop("r.wav", sound(t, 12, 2))
	v.measured(mix)
	v.measured(ref)
	var first, second resultAnswer
	v.post("/result", usual(mix, ref), &first)
	bounce := v.drop("m 2.wav", sound(t, 12, 1, append(faults[:2:2], byMatch(t, sound(t, 12, 1, faults...), sound(t, 12, 2)).Solve(match.DefaultSolve()).Settings().Moves...)...))
	v.measured(bounce)
	ask := with(with(usual(bounce, ref), "already", first.Settings), "after", first.Comparison)
	if code := v.post("/result", ask, &second); code != http.StatusOK {
		t.Fatalf("the bounce is answered with %d", code)
	}
	const nearDB = 0.1 // 16-bit sounds, and the table's bands instead of the sound
	if second.AsBounced == nil || math.Abs(float64(*second.AsBounced-first.After)) > nearDB || math.Abs(float64(second.Before-first.Before)) > nearDB || second.Sound {
		t.Errorf("as bounced %v, predicted %g; without moves %g, before %g", second.AsBounced, first.After, second.Before, first.Before)
	}
	var history struct{ Comparisons []*historyEntry }
	v.ask("GET", "/history", nil, &history)
	if n := len(history.Comparisons); n != 2 || history.Comparisons[1].BounceOf != first.Comparison {
		t.Errorf("%d comparisons: %+v", n, history.Comparisons)
	}
	var refused userError
	if code := v.post("/confirm", ask, &refused); code != http.StatusUnprocessableEntity || refused.Hint == "" {
		t.Errorf("confirming it is answered with %d, %+v", code, refused)
	}
}

// The demo is made and measured, and has moves.
func TestDemo(t *testing.T) {
	testkit.Skip(t, "measures the demo's recordings")
	v := enter(t)
	var made struct{ IDs []string }
	if code := v.ask("POST", "/demo", nil, &made); code != http.StatusCreated || len(made.IDs) != 2 {
		t.Fatalf("the demo is answered with %d", code)
	}
	for _, id := range made.IDs {
		if s := v.measured(id); s.State != ready {
			t.Fatalf("a demo recording is %+v", s)
		}
	}
	var got resultAnswer
	v.post("/result", usual(made.IDs[0], made.IDs[1]), &got)
	if len(got.Advised) != 4 { // as the README's picture of it
		t.Errorf("%d moves", len(got.Advised))
	}
}

// What is to be watched names moves by their rows: one that is off keeps its number.
func TestFindingsByRow(t *testing.T) {
	got := byRow(finding.List{match.LargeMoves{Moves: []int{1, 2}}, match.VoiceMoves{Moves: []int{2}}}, []int{3, 1})
	want := finding.List{match.LargeMoves{Moves: []int{2, 4}}, match.VoiceMoves{Moves: []int{2}}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}
