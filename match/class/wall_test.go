package class

import (
	"bytes"
	"errors"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"toneplumb/match"
)

// verdicts returns a row with these verdicts from the sub up; the mix is so far over in each of them.
func verdicts(name string, overDB float64, all ...match.Verdict) Row {
	r := Row{Name: name, Zones: make([]match.ZoneVerdict, len(match.Zones()))}
	for i, z := range match.Zones() {
		r.Zones[i] = match.ZoneVerdict{Zone: z, LowDB: -1, HighDB: 1}
		if i < len(all) {
			r.Zones[i].DifferenceDB, r.Zones[i].LowDB, r.Zones[i].HighDB, r.Zones[i].Verdict = -overDB, -overDB-1, -overDB+1, all[i]
		}
	}
	return r
}

// The title does not say that none is off where the class agrees, while one mix is far off elsewhere.
func TestWallTitle(t *testing.T) {
	near := func() Row { return verdicts("near", 3, match.NearEnough) }
	for want, rows := range map[string][]Row{
		"All 3 mixes are over in the sub, but none is off there":     {near(), near(), near()},
		"1 of 3 mixes is unusual, farthest in the lows (13 dB over)": {near(), near(), verdicts("far", 13, match.NearEnough, match.Unusual)},
		"2 of 4 mixes are off, farthest in the lows (13 dB over)":    {near(), near(), verdicts("far", 13, match.NearEnough, match.Differs, match.Unusual), verdicts("off", 9, match.NearEnough, match.Differs)},
		"All 3 mixes are over in the sub, 1 of them unusual":         {near(), near(), verdicts("far", 13, match.Unusual)},
		"3 mixes, zone by zone: most share nothing":                  {verdicts("a", 0), verdicts("b", 0), verdicts("c", 0)},
	} {
		table := &Table{References: []string{"a"}, Rows: rows}
		w := Wall(table, false)
		if w.Title != want {
			t.Errorf("%q, want %q", w.Title, want)
		}
		if text := shared(table); text != "" && !strings.HasPrefix(text, w.Title) && !strings.HasPrefix(w.Note, text) {
			t.Errorf("%q: what is shared is not in %q", w.Title, w.Note)
		}
	}
}

// A verdict has one mark in text, on the page and on the wall, explained in each.
func TestOneMarkForAVerdict(t *testing.T) {
	row := verdicts("mix", 6, match.Differs, match.Unusual, match.CannotTell, match.NearEnough, match.NearEnough)
	row.Zones[3].UsualDB, row.Zones[3].ToleranceDB = 7, 8
	table := &Table{References: []string{"a"}, Rows: []Row{row}}
	var text, page bytes.Buffer
	if err := errors.Join(Text(&text, table), Overview(&page, table)); err != nil {
		t.Fatal(err)
	}
	wall := Wall(table, false)
	var onWall, onPage []string
	for _, c := range wall.Rows[0].Cells {
		onWall = append(onWall, c.Text)
	}
	for _, cell := range regexp.MustCompile(`data-is="[a-z ]+">([^<]*)</td>`).FindAllStringSubmatch(page.String(), -1) {
		onPage = append(onPage, cell[1])
	}
	if want := []string{"+6*", "+6!", "+6?", "+6~", "+6", "0", "0"}; !slices.Equal(onWall, want) {
		t.Errorf("on the wall %q, want %q", onWall, want)
	}
	if want := []string{"6.0 over*", "6.0 over!", "6.0 over?", "6.0 over~", "6.0 over", "level", "level"}; !slices.Equal(onPage[2:9], want) {
		t.Errorf("on the page %q, want %q", onPage, want)
	}
	if !strings.Contains(text.String(), "sub 6.0*, lows 6.0!, low mids 6.0?, mids 6.0~, high mids 6.0;") {
		t.Error(text.String())
	}
	for _, said := range []string{strings.Join(strings.Fields(text.String()), " "), page.String(), wall.Line} {
		if !strings.Contains(said, marks) {
			t.Errorf("%q is not explained in %s", marks, said)
		}
	}
}

// What is left out has its reason, on the wall too.
func TestReasonOfLeftOut(t *testing.T) {
	row := verdicts("mix", 0)
	why := match.Exclusion{Cause: match.NoLows, Side: match.Side{Number: 1, Of: 1}, Hz: 60}
	row.Zones[0] = match.ZoneVerdict{Zone: match.Zones()[0], DifferenceDB: math.NaN(), Verdict: match.CannotTell, Why: match.LeftOutZone, LeftOut: why}
	table := &Table{References: []string{"a"}, Rows: []Row{row, row}}
	mixes := verdicts("thin.wav", 0)
	mixes.Zones[0] = row.Zones[0]
	mixes.Zones[0].LeftOut = match.Exclusion{Cause: match.NoLows, Hz: 60}
	if got := (&Table{Rows: []Row{mixes}}).whyLeftOut(); got != "– is left out: thin, sub (the mix has little below 60 Hz)." {
		t.Error(got)
	}
	var text, aloud, page bytes.Buffer
	if err := errors.Join(Text(&text, table), TextAloud(&aloud, table), Overview(&page, table)); err != nil {
		t.Fatal(err)
	}
	for _, said := range []string{text.String(), aloud.String(), page.String()} {
		if strings.Count(said, "left out: sub (the reference has little below 60 Hz)") != 2 {
			t.Error(said)
		}
	}
	if w := Wall(table, false); w.Rows[0].Cells[0].Text != "–" || !strings.HasPrefix(w.Note, "– is left out: sub (the reference has little below 60 Hz). ") {
		t.Errorf("%+v", w)
	}
}

// Of a small chart only the lines are not filled, so that arrow heads are seen, whole.
func TestArrowHeadsAreFilled(t *testing.T) {
	style := overviewText[:strings.Index(overviewText, "</style>")]
	for _, rule := range regexp.MustCompile(`(?m)^([^{]*)\{[^}]*fill: none`).FindAllStringSubmatch(style, -1) {
		if strings.TrimSpace(rule[1]) != ".zero, .edge, .line" {
			t.Errorf("%q is not filled", rule[1])
		}
	}
	row := verdicts("mix", 0)
	row.CurveDB = slices.Repeat([]float32{-20}, 240)
	if chart := string(smallChart(row)); !strings.Contains(chart, `class="leaves" d="M4.0 1l-4 7h8z`) {
		t.Error(chart)
	}
}
