package report

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/plots"
	"toneplumb/spectrum"
)

// read is the part of the JSON document about how sure it is.
type read struct {
	Mix *struct {
		PartS     []float64   `json:"part_s"`
		PassagesS [][]float64 `json:"passages_s"`
	}
	Curve []struct {
		Hz         float64    `json:"freq_hz"`
		Difference *float64   `json:"difference_db"`
		Low        *float64   `json:"low_db"`
		High       *float64   `json:"high_db"`
		SpreadLow  *float64   `json:"spread_low_db"`
		SpreadHigh *float64   `json:"spread_high_db"`
		LeftOut    *Exclusion `json:"left_out"`
	}
	Moves []struct {
		Gain float64  `json:"gain_db"`
		Low  *float64 `json:"gain_low_db"`
		High *float64 `json:"gain_high_db"`
	}
}

func TestJSONTellsHowSure(t *testing.T) {
	const tolerance = 2e-4 // of four decimals, twice
	for name, r := range cases() {
		var file bytes.Buffer
		if err := JSON(&file, r); err != nil {
			t.Fatal(err)
		}
		var d read
		if err := json.Unmarshal(file.Bytes(), &d); err != nil {
			t.Fatal(err)
		}
		for b, p := range d.Curve {
			if has := p.Low != nil && p.High != nil; has != (r.Mix != nil && p.LeftOut == nil) {
				t.Fatalf("%s, %g Hz: low and high %v", name, p.Hz, has)
			}
			if p.Low != nil && math.Abs(*p.Low+*p.High-2**p.Difference) > tolerance {
				t.Errorf("%s, %g Hz: %g to %g about %g", name, p.Hz, *p.Low, *p.High, *p.Difference)
			}
			if has := p.SpreadLow != nil && p.SpreadHigh != nil; has != (r.ReferenceSpreadDB != nil && p.LeftOut == nil) {
				t.Fatalf("%s, %g Hz: spread %v", name, p.Hz, has)
			}
			if p.SpreadLow != nil && math.Abs(*p.SpreadHigh-*p.SpreadLow-2*r.ReferenceSpreadDB[b]) > tolerance {
				t.Errorf("%s, %g Hz: spread %g to %g, want ±%g", name, p.Hz, *p.SpreadLow, *p.SpreadHigh, r.ReferenceSpreadDB[b])
			}
		}
		for _, m := range d.Moves {
			if (m.Low != nil) != (r.Mix != nil) || m.Low != nil && !(*m.Low <= m.Gain && m.Gain <= *m.High) {
				t.Errorf("%s: a gain of %g between %v and %v", name, m.Gain, m.Low, m.High)
			}
		}
		switch {
		case name == "plain" && (!slices.Equal(d.Mix.PartS, []float64{45, 160}) || len(d.Mix.PassagesS) != 2 || !slices.Equal(d.Mix.PassagesS[1], []float64{120, 160})):
			t.Errorf("two passages: %+v", d.Mix)
		case name == "many" && (!slices.Equal(d.Mix.PartS, []float64{0, 215.4}) || d.Mix.PassagesS != nil):
			t.Errorf("all of it: %+v", d.Mix)
		}
	}
}

func TestChartTellsHowSure(t *testing.T) {
	for name, want := range map[string][]string{
		"plain":   {"likely range ±0.6 dB (95 %); two songs by one maker usually differ by 3 to 6 dB"},
		"copied":  {"likely range within ±0.1 dB (95 %); same song in both"},
		"several": {"likely range ±0.6 dB (95 %); two songs by one maker usually differ by 3 to 6 dB", "mean of other references like these ±3.1 dB (95 %)"},
		"drawn":   nil,
	} {
		f := Chart(cases()[name], ChartOptions{})
		panel := f.Panels[len(f.Panels)-1]
		var got []string
		for _, iv := range panel.Intervals {
			got = append(got, iv.Name)
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
		if len(want) == 2 && (panel.Intervals[0].Kind != plots.Fill || panel.Intervals[1].Kind != plots.HatchedEdge) {
			t.Errorf("%s: the kinds of the bands are not told apart", name)
		}
		if has := slices.Contains(f.Table.Header, ifAllTone); has != (want != nil) {
			t.Errorf("%s: header %q", name, f.Table.Header)
		}
		for _, row := range append(f.Table.Rows, f.Table.Header) {
			if len(row) != len(f.Table.Align) {
				t.Errorf("%s: %d cells, %d columns", name, len(row), len(f.Table.Align))
			}
		}
	}
}

// The page heads the ranges as the chart does, in a window of any width.
func TestThePageHeadsTheRanges(t *testing.T) {
	for file, want := range map[string]string{"app.html": ">" + ifAllTone + "</span>", "app.css": `::before { content: "` + ifAllTone + `";`} {
		text, err := os.ReadFile(filepath.Join("..", "page", "desk", file))
		if err != nil {
			t.Fatal(err)
		}
		if n := strings.Count(string(text), want); n != 1 {
			t.Errorf("%s: %q is there %d times", file, want, n)
		}
	}
}

// No two lines of a chart are told apart by colour alone, nor does one look mean two
// things in the two panels, but for what stands for the mix's side, which is the same.
func TestLinesAreToldApart(t *testing.T) {
	type looks struct {
		dash   plots.Dash
		weight plots.Weight
	}
	named := map[looks]string{}
	for _, p := range Chart(cases()["several"], ChartOptions{}).Panels {
		for _, c := range p.Curves {
			l := looks{c.Style.Dash, c.Style.Weight}
			if other := named[l]; c.Name != "" && other != "" && !(other == "mix" && c.Name == "difference") {
				t.Errorf("%q and %q are drawn alike", c.Name, other)
			}
			if c.Name != "" {
				named[l] = c.Name
			}
		}
	}
	if len(named) != 5 {
		t.Errorf("%d looks: %v, want reference, mix or difference, target, each move and all moves", len(named), named)
	}
}

func TestSpreadPassesOverWhatIsLeftOut(t *testing.T) {
	r := &match.Result{Comparison: &match.Comparison{ReferenceSpreadDB: make([]float64, spectrum.BandCount)}}
	for b := range r.ReferenceSpreadDB {
		r.ReferenceSpreadDB[b] = []float64{3, 4, math.NaN()}[b%3]
	}
	if got, want := spreadDB(r), math.Sqrt(12.5); math.Abs(got-want) > 1e-9 {
		t.Errorf("%g, want %g", got, want)
	}
	r.ReferenceSpreadDB = nil
	if got := spreadDB(r); !math.IsNaN(got) || strings.Contains(measuredTo(cases()["plain"]), "like these") {
		t.Errorf("%g of one reference", got)
	}
}

// Beside the same song nothing is arrangement, so all of the difference may be followed.
func TestFollowAll(t *testing.T) {
	r := cases()["copied"]
	if got := aims(r); !strings.HasPrefix(got, `Aims for 60 % of the difference. Go 100 % toward the reference to follow all of it.`) {
		t.Error(got)
	}
	full := *r
	full.SolveOptions.TowardPercent = 100
	for name, r := range map[string]*match.Result{"all of it": &full, "another song": cases()["plain"]} {
		if got := aims(r); strings.Contains(got, "follow all") {
			t.Errorf("%s: %s", name, got)
		}
	}
}

func TestSentences(t *testing.T) {
	for same, want := range map[string]string{
		"":       "",
		"0":      "",
		"1":      "Same song in both: the difference is balance or processing, not arrangement.",
		"111":    "Same song in all: the difference is balance or processing, not arrangement.",
		"010":    "Reference 2 is the mix's own song.",
		"111010": "References 1, 2, 3 and 5 are the mix's own song.",
	} {
		c := &match.Comparison{}
		for _, s := range same {
			c.SameSong = append(c.SameSong, s == '1')
		}
		r := &match.Result{Comparison: c}
		if got := copies(r.Comparison); got != want {
			t.Errorf("%q: %q, want %q", same, got, want)
		}
		if got := oneSong(r); got != (same == "1" || same == "111") {
			t.Errorf("%q: one song %v", same, got)
		}
	}
	for db, want := range map[float64]string{0.04: "level", -0.04: "level", 1.24: "1.2 dB under", -2.8: "2.8 dB over"} {
		if got := words.FormatDifference(db); got != want {
			t.Errorf("%g: %q, want %q", db, got, want)
		}
	}
}

// A share of what is clearly tonal is not that share of the drawn difference, so the legend says of what it is. The
// reasons' figures are averages, which the curves do not show at a frequency, so every table with reasons says so once.
func TestFiguresSayOfWhat(t *testing.T) {
	r := cases()["plain"]
	for stage, want := range map[match.Stage]string{match.Rough: "target, 60 % of what is clearly tonal", match.AsMeasured: "target, 60 % of the difference"} {
		r.SolveOptions.Stage = stage
		if got := TargetName(r); got != want {
			t.Errorf("%v: %q, want %q", stage, got, want)
		}
		if text := rangesInShort(r); strings.Contains(text, "for 60 % of the way): set all moves") != (stage == match.Rough) {
			t.Errorf("%v: %q", stage, text)
		}
	}
	var notes strings.Builder
	if err := Markdown(&notes, r); err != nil {
		t.Fatal(err)
	}
	page := HandoutPages(r, HandoutOptions{})[0]
	for where, text := range map[string]string{
		"chart": strings.Join(Chart(r, ChartOptions{}).Footnotes, "\n"), "handout": strings.Join(page.Footnotes, "\n"),
		"notes": notes.String(), "text": strings.Join(Sentences(r), "\n"),
	} {
		if n := strings.Count(text, "averages over a move's width"); n != 1 {
			t.Errorf("%s: says %d times what the reasons' figures are", where, n)
		}
	}
}
