package serve

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match/training"
	"toneplumb/spectrum/testkit"
)

// An exercise is made and its sheets are marked: with the password alone, and one that is
// broken stops no other.
func TestTraining(t *testing.T) {
	testkit.Skip(t, "makes an exercise")
	v := enter(t)
	mix := v.drop("mix.wav", sound(t, 12, 1))
	v.measured(mix)
	ask := with(with(with(with(usual(mix), "renders", 2), "difficulty", "easy"), "number", 3), "password", "three words here")
	made := v.task("exercise", ask)
	if made.Outcome == nil || len(made.Outcome.Files) != 4 {
		t.Fatalf("the exercise is %+v", made)
	}
	if page := v.file(made, ".html"); !bytes.HasPrefix(page, []byte("<!DOCTYPE html>")) {
		t.Errorf("the page is %.40q", page)
	}
	answers := string(v.file(made, ".answers.json"))
	a, err := training.Open(strings.NewReader(answers), "three words here")
	if err != nil || len(a.Tasks) != 2 {
		t.Fatalf("the answers are %+v, %v", a, err)
	}
	sheet := string(v.file(made, "sheet.csv"))
	for i, task := range a.Tasks {
		sheet += fmt.Sprintf("%d,%s,%g,%g,%g\n", i+1, task[0].Shape, task[0].FreqHz, task[0].GainDB, task[0].Q)
	}
	mark := map[string]any{"range_hz": []float64{40, 16000}, "smooth_oct": 0.3333, "toward_percent": 60, "answers": answers, "password": "three words here",
		"sheets": []namedText{{"anna.csv", sheet}, {"ben.csv", "no sheet"}}}
	marked := v.task("marking", mark)
	if marked.Outcome == nil || marked.Outcome.Headline != "1 sheet marked: 2 renders of mix.wav, easy; 1 could not be marked." {
		t.Fatalf("the marks are %+v %+v", marked.Trouble, marked.Outcome)
	}
	if terms := fmt.Sprint(marked.Outcome.Blocks[0]); !strings.Contains(terms, "dB unweighted") {
		t.Errorf("first comes %s", terms)
	}
	if row := marked.Outcome.Blocks[1].Rows[0]; row[0] != "anna" || row[1] != "100 %" {
		t.Errorf("who knows everything has %q", row)
	}
	again := v.task("marking", with(mark, "earlier", []namedText{{"marks.json", string(v.file(marked, ".json"))}}))
	if again.Outcome == nil || !strings.Contains(fmt.Sprint(again.Outcome.Blocks), "easy: 100 %") {
		t.Errorf("beside earlier marks: %+v", again)
	}
	for what, bad := range map[string]map[string]any{"without a password": with(mark, "password", ""), "with another": with(mark, "password", "x"), "without sheets": with(mark, "sheets", nil)} {
		if got := v.task("marking", bad); got.Trouble == nil || got.Trouble.Hint == "" {
			t.Errorf("%s: %+v", what, got)
		}
	}
	// The next lesson: a course's, with what was missed.
	next := v.task("exercise", with(with(with(ask, "lesson", "2/8"), "earlier", []namedText{{"marks.json", string(v.file(marked, ".json"))}}), "password", ""))
	if next.Outcome == nil {
		t.Fatalf("the lesson is %+v", next.Trouble)
	}
	if lesson, err := training.Open(bytes.NewReader(v.file(next, ".answers.json")), ""); err != nil || lesson.Rules.Name != training.Lesson(2, 8).Name {
		t.Errorf("the lesson's answers are %+v, %v", lesson, err)
	}
	for what, bad := range map[string]map[string]any{"lesson 9 of 8": with(ask, "lesson", "9/8"), "marks that are none": with(ask, "earlier", []namedText{{"x.json", "{}"}}), "no difficulty": with(ask, "difficulty", "none"), "no renders": with(ask, "renders", 0), "a part beyond the end": with(ask, "part_s", []float64{60, 70})} {
		if got := v.task("exercise", bad); got.Trouble == nil || got.Trouble.Hint == "" {
			t.Errorf("%s: %+v", what, got)
		}
	}
}

// lesson is the answers of an exercise.
func lesson(t testing.TB) []byte {
	t.Helper()
	var b bytes.Buffer
	bell := func(hz, db float64) []biquad.Filter {
		return []biquad.Filter{{Shape: biquad.Bell, FreqHz: hz, GainDB: db, Q: 1}}
	}
	a := &training.Answers{Mix: "evening.wav", Rules: training.Medium.Rules(), RateHz: 44100, Tasks: [][]biquad.Filter{bell(1000, 4), bell(250, -3)}}
	if err := a.Seal(&b, ""); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
