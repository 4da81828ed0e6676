package plots

import (
	"bytes"
	"io"
	"math"
	"strings"
	"testing"
)

func TestErrors(t *testing.T) {
	panel := []Panel{{}}
	lines := make([]string, 60)
	for i := range lines {
		lines[i] = "a line"
	}
	for _, c := range []struct {
		name string
		fig  Figure
		want string
	}{
		{"no panel", Figure{}, "needs a panel"},
		{"narrow", Figure{WidthPx: 599, HeightPx: 440, Panels: panel}, "599×440"},
		{"one side only", Figure{WidthPx: 1000, Panels: panel}, "1000×0"},
		{"negative", Figure{WidthPx: -1350, HeightPx: -990, Panels: panel}, "-1350×-990"},
		{"too long", Figure{WidthPx: 10001, HeightPx: 990, Panels: panel}, "10001×990"},
		{"too many pixels", Figure{WidthPx: 10000, HeightPx: 5000, Panels: panel}, "40 million"},
		{"DPI not a number", Figure{DPI: math.NaN(), Panels: panel}, "NaN"},
		{"negative DPI", Figure{DPI: -1, Panels: panel}, "-1 pixels per inch"},
		{"small paper", Figure{Paper: true, WidthPx: 1240, HeightPx: 1754, DPI: 320, Panels: panel}, "3.9×5.5 inches"},
		{"too many lines", Figure{Lines: lines, Panels: panel}, "no room"},
		{"too many panels", Figure{Panels: make([]Panel, 30)}, "no room"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var file bytes.Buffer
			for _, write := range []func(io.Writer) error{c.fig.WritePNG, c.fig.WriteSVG} {
				err := write(&file)
				if err == nil || !strings.Contains(err.Error(), c.want) {
					t.Errorf("error is %v, want one with %q", err, c.want)
				}
				if file.Len() > 0 {
					t.Error("something was written all the same")
				}
			}
		})
	}
}

func TestPanics(t *testing.T) {
	one := []float64{1000}
	for _, c := range []struct {
		name string
		fig  Figure
	}{
		{"lengths", Figure{Panels: []Panel{{Curves: []Curve{{FreqHz: one}}}}}},
		{"zero frequency", Figure{Panels: []Panel{{Curves: []Curve{{FreqHz: []float64{0}, DB: one}}}}}},
		{"frequency not a number", Figure{Panels: []Panel{{Curves: []Curve{{FreqHz: []float64{math.NaN()}, DB: one}}}}}},
		{"falling frequencies", Figure{Panels: []Panel{{Curves: []Curve{{FreqHz: []float64{2, 1}, DB: []float64{0, 0}}}}}}},
		{"interval", Figure{Panels: []Panel{{Intervals: []Interval{{FreqHz: one, LowDB: one}}}}}},
		{"axis upside down", Figure{Panels: []Panel{{YMinDB: 6, YMaxDB: -6}}}},
		{"endless axis", Figure{Panels: []Panel{{YMinDB: math.Inf(-1), YMaxDB: 6}}}},
		{"negative share", Figure{Panels: []Panel{{Share: -1}}}},
		{"long row", Figure{Panels: []Panel{{}}, Table: Table{Header: []string{"#"}, Rows: [][]string{{"1", "bell"}}}}},
		{"sentences under no rows", Figure{Panels: []Panel{{}}, Table: Table{Header: []string{"#"}, Rows: [][]string{{"1"}}, Under: []string{"why", "why"}}}},
		{"no header", Figure{Panels: []Panel{{}}, Table: Table{Rows: [][]string{{}}}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			defer func() {
				if recover() == nil {
					t.Error("did not panic")
				}
			}()
			c.fig.WritePNG(new(bytes.Buffer))
		})
	}
}

// TestOddInput draws input that no careful caller passes, but that must not stop a run.
func TestOddInput(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	for _, c := range []struct {
		name  string
		panel Panel
	}{
		{"nothing", Panel{}},
		{"empty curve", Panel{Curves: []Curve{{Name: "mix"}}}},
		{"only NaN", Panel{Curves: []Curve{{FreqHz: []float64{100, 200}, DB: []float64{nan, nan}}}}},
		{"infinite", Panel{Curves: []Curve{{FreqHz: []float64{100, 200, 300}, DB: []float64{inf, -inf, 3}}}}},
		{"absurd", Panel{Curves: []Curve{{FreqHz: []float64{100, 200, 300}, DB: []float64{1e300, -1e300, 3}}}}},
		{"large", Panel{Curves: []Curve{{FreqHz: []float64{100, 200}, DB: []float64{-1000, 1000}}}}},
		{"outside the axis", Panel{Curves: []Curve{{FreqHz: []float64{1, 2, 1e6}, DB: []float64{1, 2, 3}}}}},
		{"one point", Panel{Curves: []Curve{{FreqHz: []float64{1000}, DB: []float64{-20}}}}},
		{"crossed interval", Panel{Intervals: []Interval{{FreqHz: []float64{100, 200}, LowDB: []float64{3, 3}, HighDB: []float64{-3, 4}}}}},
		{"hatched edge", Panel{YMinDB: -1, YMaxDB: 1, Intervals: []Interval{{FreqHz: []float64{1, 1000, 1e5}, LowDB: []float64{-3, nan, 0}, HighDB: []float64{3, 1, 40}, Kind: HatchedEdge}}}},
		{"spans", Panel{LeftOut: []Span{{0, inf, "everything"}, {5, 10, "below"}, {nan, 100, "no number"}, {500, 400, "upside down"}, {700, 700.1, "thin"}, {30, 40, ""}, {1000, 2000, strings.Repeat("long ", 99)}}}},
		{"marks", Panel{Marks: []Mark{{0, "0"}, {nan, "N"}, {inf, "I"}, {20, "a"}, {20, "b"}, {20, "c"}, {20000, "y"}, {20000, "z"}, {1000, ""}}}},
		{"words", Panel{Title: strings.Repeat("title ", 60), YLabel: strings.Repeat("label ", 60)}},
	} {
		t.Run(c.name, func(t *testing.T) {
			pngOf(t, Figure{WidthPx: 600, HeightPx: 440, Panels: []Panel{c.panel, c.panel},
				Zones: []Zone{{"nowhere", 5, 10}, {"no number", math.NaN(), 100}, {"a zone with a very long name", 100, 110}}})
		})
	}
}
