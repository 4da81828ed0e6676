package class

import (
	"bytes"
	"errors"
	"math"
	"strings"
	"testing"

	"toneplumb/match"
)

// What most mixes share, of five that are read and one that is not.
func TestShared(t *testing.T) {
	const offDB = 6
	// zoneOf is a zone's difference, reference less mix, ±half.
	zoneOf := func(db, half float64) match.ZoneVerdict {
		z := match.ZoneVerdict{DifferenceDB: db, LowDB: db - half, HighDB: db + half, Verdict: match.NearEnough}
		switch {
		case math.Abs(db) >= 4 && math.Abs(db) < 5:
			z.Verdict = match.Unusual
		case math.Abs(db) >= offDB:
			z.Verdict = match.Differs
		case math.IsNaN(db):
			z.Verdict, z.Why = match.CannotTell, match.LeftOutZone
		}
		return z
	}
	out := math.NaN()
	for _, c := range []struct {
		name     string
		low, mid []float64 // lows and mids, by mix
		halfDB   float64
		want     string
	}{
		{"nothing", []float64{0, 2, -2, 0, 0}, []float64{0, 0, 0, 0, 0}, 0.5, ""},
		{"four of five", []float64{0, 0, 0, 0, 0}, []float64{-2, -3, 0, -1.2, -5}, 0.5, "4 of 5 mixes are over in the mids, but none is off there."},
		{"too little", []float64{0, 0, 0, 0, 0}, []float64{2, 3, 0, 1.2, 0}, 0.5, "3 of 5 mixes are under in the mids, but none is off there."},
		{"half is not most", []float64{-2, -2, 0, 0, out}, []float64{-2, -3, 2, 3, 0}, 0.5, ""},
		{"under 1 dB", []float64{-0.9, -0.9, -0.9, -0.9, -0.9}, []float64{0, 0, 0, 0, 0}, 0.5, ""},
		{"unsure", []float64{-2, -2, -2, -2, -2}, []float64{0, 0, 0, 0, 0}, 2.5, ""},
		{"both ways", []float64{2, 2, 2, 2, 2}, []float64{-2, -3, out, -1.2, -5}, 0.5, "All 4 mixes are over in the mids, but none is off there; all 5 mixes are under in the lows, but none is off there."},
		{"together", []float64{2, 2, 2, 2, 0}, []float64{3, 2, 2, 0, 2}, 0.5, "4 of 5 mixes are under in the lows and mids, but none is off there."},
		{"some of them off", []float64{0, 0, 0, 0, 0}, []float64{-2, -7, 0, -8, -5}, 0.5, "4 of 5 mixes are over in the mids, 2 of them off."},
		{"all of them off", []float64{7, 8, 9, 7, 0}, []float64{7, -8, 6, 2, 7}, 0.5, "4 of 5 mixes have too little in the lows; 4 of 5 mixes are under in the mids, 3 of them off."},
		{"unusual", []float64{0, 0, 0, 0, 0}, []float64{-2, -4, 0, -8, -5}, 0.5, "4 of 5 mixes are over in the mids, 1 of them off, 1 of them unusual."},
		{"two mixes are not most", []float64{2, 2, out, out, out}, []float64{0, 0, 0, 0, 0}, 0.5, ""},
	} {
		table := &Table{Rows: []Row{{Problem: "is a text file"}}}
		for i := range c.low {
			zones := make([]match.ZoneVerdict, len(match.Zones()))
			zones[1], zones[3] = zoneOf(c.low[i], c.halfDB), zoneOf(c.mid[i], c.halfDB)
			table.Rows = append(table.Rows, Row{Zones: zones, NoMoves: match.NoMoves{Outlook: match.Inaudible}})
		}
		if got := shared(table); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
		var text, page bytes.Buffer
		if err := errors.Join(Text(&text, table), Overview(&page, table)); err != nil {
			t.Fatal(err)
		}
		for _, written := range []string{text.String(), page.String()} {
			if !strings.Contains(strings.Join(strings.Fields(written), " "), c.want) {
				t.Errorf("%s: %q is not in\n%s", c.name, c.want, written)
			}
		}
	}
}

// Of all that is shared only the two gravest things are said, and zones alike together though others lie between.
func TestSharedSaysTheGravest(t *testing.T) {
	table := &Table{}
	for range 3 {
		zones := make([]match.ZoneVerdict, len(match.Zones()))
		for i, db := range []float64{-2, 7, 3, -4.5, 0, -4, 7} {
			zones[i] = match.ZoneVerdict{DifferenceDB: db, LowDB: db, HighDB: db, Verdict: match.NearEnough}
			if db == 7 {
				zones[i].Verdict = match.Differs
			} else if db <= -4 {
				zones[i].Verdict = match.Unusual
			}
		}
		table.Rows = append(table.Rows, Row{Zones: zones})
	}
	want := "All 3 mixes have too little in the lows and air; all 3 mixes are over in the mids and highs, 3 of them unusual."
	if got := shared(table); got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// The counts add up to the mixes, though one has zones of every verdict. If none of the mixes could be
// judged, none is said not to be off.
func TestHeadline(t *testing.T) {
	bad, good := Row{Problem: "is a profile of 3 recordings, and a mix is one"}, Row{Verdict: match.NearEnough}
	open, unusual := Row{Verdict: match.CannotTell}, Row{Verdict: match.Unusual}
	off := Row{Verdict: match.Differs, Zones: []match.ZoneVerdict{{Verdict: match.Differs}, {Verdict: match.Unusual}, {Verdict: match.CannotTell, Why: match.TooUncertain}}}
	for want, rows := range map[string][]Row{
		"1 mix: it could not be judged.":                                                {bad},
		"2 mixes: none could be judged.":                                                {bad, bad},
		"2 mixes: none is off, 1 near enough, 1 not read.":                              {bad, good},
		"5 mixes: 2 are off, 2 unusual, 1 not read.":                                    {off, unusual, bad, off, unusual},
		"5 mixes: 1 is off, 1 too close to call, 1 unusual, 1 near enough, 1 not read.": {off, open, unusual, good, bad},
	} {
		if got := Headline(&Table{Rows: rows, WithinDB: 2}); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
