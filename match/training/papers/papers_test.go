package papers

import (
	"bytes"
	"encoding/csv"
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match/training"
)

func bell(hz, db float64) biquad.Filter {
	return biquad.Filter{Shape: biquad.Bell, FreqHz: hz, GainDB: db, Q: 1}
}

// lesson is one of three renders that two students have heard; the third's sheet is broken.
func lesson() *Class {
	a := &training.Answers{Mix: "evening.wav", Rules: training.Medium.Rules(), RateHz: 44100, Tasks: [][]biquad.Filter{
		{bell(1000, 4)}, {bell(250, -3), bell(4000, 3)}, {bell(8000, -5)}}}
	return &Class{Answers: a, Students: []Student{
		Mark("anna", a, a.Tasks),
		Mark("ben", a, [][]biquad.Filter{{bell(1000, -4)}, {bell(250, -3)}, {bell(2000, -5), bell(100, 4)}}),
		{Name: "cleo", Why: "line 2: there is no shape"},
	}}
}

// What is written is read back, and what is no such document is refused.
func TestMarkedRoundTrip(t *testing.T) {
	c := lesson()
	var b bytes.Buffer
	if err := WriteJSON(&b, c); err != nil {
		t.Fatal(err)
	}
	got, err := ReadMarked(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range got.Students {
		want := c.Students[i]
		if s.Name != want.Name || s.Why != want.Why || s.Total.Found != want.Total.Found || s.Total.Missed != want.Total.Missed || s.Total.WrongWay != want.Total.WrongWay {
			t.Errorf("%+v, want %+v", s, want)
		}
		if missed := training.Missed(s.Marks); !reflect.DeepEqual(missed, training.Missed(want.Marks)) {
			t.Errorf("%s: missed %v", s.Name, missed)
		}
	}
	for _, bad := range []string{"", "{}", `{"version":1,"kind":"marks of an exercise"}`, strings.Replace(b.String(), `"shape": "bell"`, `"shape": "low-cut"`, 1), strings.Replace(b.String(), `"hidden": {`, `"seen": {`, 1)} {
		if _, err := ReadMarked(strings.NewReader(bad)); err == nil {
			t.Errorf("%.40q was read", bad)
		}
	}
}

// A line of the text for reading aloud names its figures, so that it makes sense by itself.
func TestTextAloud(t *testing.T) {
	var b bytes.Buffer
	if err := WriteTextAloud(&b, lesson()); err != nil {
		t.Fatal(err)
	}
	got := strings.Join(strings.Fields(b.String()), " ")
	for _, want := range []string{"2 sheets marked", "Student anna: score 100 %, found 4 of 4, wrong way 0", "off unweighted 0.00 dB, unanswered 1.31 dB", "(score 0 %; 2.3 dB off, unanswered 1.1 dB, unweighted)", "cleo: not marked: line 2"} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in\n%s", want, &b)
		}
	}
}

// On the page the terms come first, once; who reads marks sees that their dB are not those of the sheet.
func TestTermsOnPage(t *testing.T) {
	var said []int
	for i, b := range Blocks(lesson()) {
		for _, item := range b.Items {
			if slices.Contains(item.Paragraphs, terms) {
				said = append(said, i)
			}
		}
	}
	if !slices.Equal(said, []int{0}) {
		t.Errorf("the terms are in blocks %v", said)
	}
}

// What is near but not found stands apart from what was found in the same place, and a sheet further off than without
// answers shows the scores of its renders, of which its own is the mean.
func TestFiguresAgree(t *testing.T) {
	a := &training.Answers{Mix: "evening.wav", Rules: training.Easy.Rules(), RateHz: 44100, Tasks: [][]biquad.Filter{{bell(8000, -4)}, {bell(8000, -5)}, {bell(4000, 4)}}}
	c := &Class{Answers: a, Students: []Student{Mark("ben", a, [][]biquad.Filter{{bell(8000, -4)}, {bell(8000, -1)}, {bell(1000, 12)}})}}
	var text, aloud bytes.Buffer
	if err := errors.Join(WriteText(&text, c), WriteTextAloud(&aloud, c)); err != nil {
		t.Fatal(err)
	}
	if s := c.Students[0].Total; s.OffDB <= s.HiddenDB || s.Score < 0.3 {
		t.Errorf("%+v", s)
	}
	for _, want := range []string{"     1  100 %  0.0 (1.1)  found", "     2   20 %  1.1 (1.3)  not found (right place, but not near enough): bell", "     3    0 %  3.7 (1.1)  not found: bell 4 kHz",
		" 1 of 3         0          2       0         0    1.59   40 %", "highs −                     = 1, ~ 1\n"} {
		if !strings.Contains(text.String(), want) {
			t.Errorf("no %q in\n%s", want, &text)
		}
	}
	if pages := studentPages(c.Students[0], a, false); !slices.Equal(pages[0].Lines, []string{"easy · found 1 of 3 moves, 2 not found (another heard in its place)",
		"score 40 %: the mean of the renders (100 % is the very curve, 0 % no nearer than no answer)"}) || pages[0].Table.Rows[2][1] != "0 %" {
		t.Errorf("%q, %q", pages[0].Lines, pages[0].Table.Rows)
	}
}

// Earlier lessons go to the students of the same name, onto their pages and into the grades.
func TestEarlier(t *testing.T) {
	c := lesson()
	before := lesson()
	c.AddEarlier([]*Marked{{Lesson: "lesson 1 of 8", Students: before.Students}})
	if len(c.Students[0].Earlier) != 1 || len(c.Students[2].Earlier) != 0 {
		t.Errorf("%+v", c.Students)
	}
	var text, grades, pages bytes.Buffer
	if err := errors.Join(WriteText(&text, c), WriteCSV(&grades, c), WritePages(&pages, c, true)); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"right place, wrong way: bell 1 kHz +4.0 dB Q 1, heard as bell 1 kHz −4.0 dB Q 1", "found bell 1 kHz +4.0 dB Q 1 exactly", "so far: lesson 1 of 8: 100 %, now 100 %", "mids + heard the wrong way, 2 times", "not marked: line 2"} {
		if !strings.Contains(strings.Join(strings.Fields(text.String()), " "), want) {
			t.Errorf("no %q in\n%s", want, &text)
		}
	}
	rows, err := csv.NewReader(&grades).ReadAll()
	if err != nil || len(rows) != 6 || rows[1][1] != "lesson 1 of 8" || rows[2][2] != "100" {
		t.Errorf("%q, %v", rows, err)
	}
	if strings.Contains(pages.String(), "evening") {
		t.Error("a page names the mix")
	}
}

// Each sheet has as many rows a render as it may have moves, on A4 and letter.
func TestSheetPages(t *testing.T) {
	a := lesson().Answers
	for difficulty, want := range map[training.Difficulty]int{training.Easy: 1, training.Medium: 2, training.Hard: 3} {
		a.Rules = difficulty.Rules()
		a.Tasks = make([][]biquad.Filter, 12)
		for _, letter := range []bool{false, true} {
			if pages := sheetPages(a, "the mix", letter); len(pages) != want || len(pages[0].Table.Rows) != 12 {
				t.Errorf("%s: %d pages of %d rows", difficulty, len(pages), len(pages[0].Table.Rows))
			}
		}
	}
}
