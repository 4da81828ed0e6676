package plots

import (
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"

	"toneplumb/plots/vector"
)

// rowsOf returns the names of a legend by rows.
func rowsOf(h heading) (rows []string) {
	for _, row := range h.rows {
		var names []string
		for _, e := range row {
			names = append(names, e.name)
		}
		rows = append(rows, strings.Join(names, "|"))
	}
	return rows
}

func TestLegendRows(t *testing.T) {
	s := newSheet(new(words), DefaultWidthPx, DefaultHeightPx, &Figure{})
	const sentence = "measurement ±0.6 dB (95 %); another finished song may differ by 4 to 6 dB"
	long := strings.Repeat("long name ", 30)
	width := s.u(1200) // nearly that of a panel
	for _, c := range []struct {
		name   string
		panel  Panel
		beside bool
		want   []string
	}{
		{"all beside", Panel{Title: "title", Curves: []Curve{{Name: "mix"}}, Intervals: []Interval{{Name: "band"}}}, true, []string{"mix|band"}},
		{"a sentence below", Panel{Title: "title of some words", Curves: []Curve{{Name: "mix"}, {Name: "reference"}}, Intervals: []Interval{{Name: sentence}, {Name: "edge"}}},
			true, []string{"mix|reference", sentence + "|edge"}},
		{"title and sentence", Panel{Title: "title of some words, and of a good many more than that", Intervals: []Interval{{Name: sentence + ", as they say"}, {Name: "an edge"}}}, true, []string{"", sentence + ", as they say|an edge"}},
		{"sentence alone", Panel{Intervals: []Interval{{Name: sentence}}}, true, []string{sentence}},
		{"long title", Panel{Title: strings.Repeat("title ", 30), Curves: []Curve{{Name: "mix"}}, Intervals: []Interval{{Name: "band"}}}, false, []string{"mix|band"}},
	} {
		h := s.headingOf(&c.panel, width)
		if got := rowsOf(h); h.beside != c.beside || strings.Join(got, "\n") != strings.Join(c.want, "\n") {
			t.Errorf("%s: beside %v, rows %q, want %v, %q", c.name, h.beside, got, c.beside, c.want)
		}
	}
	for _, p := range []Panel{{Curves: []Curve{{Name: long}, {Name: long}}}, {Title: long, Intervals: []Interval{{Name: long}}}} {
		h := s.headingOf(&p, width)
		for _, row := range h.rows {
			var used vg.Length
			for i, e := range row {
				used += e.width
				if i > 0 {
					used += s.u(entryGap)
				}
			}
			if used > width {
				t.Errorf("a row of %.0f on %.0f: %q", used, width, rowsOf(h))
			}
		}
	}
}

// A title that is too long gives way to the first of the shorter ones that fits; the last is cut at its end.
func TestTitleInFewerWords(t *testing.T) {
	long, short := strings.Repeat("Many words say this. ", 20), "Few words say this."
	for _, c := range []struct {
		title   string
		shorter []string
		want    string
	}{
		{short, []string{"Fewer."}, short},
		{long, []string{long + "More.", short, "Fewer."}, short},
		{long, []string{long}, ""},
		{long, nil, ""},
	} {
		f := Figure{Title: c.title, Shorter: c.shorter, Panels: []Panel{{YLabel: "dB"}}}
		p, err := f.arrange(new(words), 1350, 990)
		if err != nil {
			t.Fatal(err)
		}
		got := strings.Join(p.title[0], " ")
		if c.want != "" && got != c.want || c.want == "" && !strings.HasSuffix(got, vector.Ellipsis) {
			t.Errorf("%q", got)
		}
	}
}

// A panel that yields is left out where it would make the other low, and where nothing else has room.
func TestPanelYields(t *testing.T) {
	for _, c := range []struct {
		lines int
		want  int // panels
	}{{0, 2}, {12, 2}, {28, 1}, {34, 1}} {
		f := Figure{Panels: []Panel{{YLabel: "dB", Yields: true}, {YLabel: "dB"}}}
		for range c.lines {
			f.Lines = append(f.Lines, "a line")
		}
		p, err := f.arrange(new(words), 1350, 990)
		if err != nil || len(p.diagrams) != c.want || len(f.Panels) != 2 {
			t.Errorf("%d lines: %v", c.lines, err)
		}
	}
}
