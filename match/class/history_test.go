package class

import (
	"slices"
	"strings"
	"testing"

	"toneplumb/match"
)

// An earlier bounce is found by its name, whatever its folder and, where none has the very name,
// its extension.
func TestEarlierOf(t *testing.T) {
	of, missing := earlierOf(
		[]string{"w2/anna.wav", "w2/ben.wav", "w2/chris.wav", "w2/anna b.wav"},
		[]string{"w1/ben.mp3", "w1/anna.flac", "w1/anna.wav", "w1/Chris.wav"})
	if want := []string{"w1/anna.wav", "w1/ben.mp3", "", ""}; !slices.Equal(of, want) {
		t.Errorf("found %q, want %q", of, want)
	}
	if want := []string{"w1/anna.flac", "w1/Chris.wav"}; !slices.Equal(missing, want) {
		t.Errorf("not taken %q, want %q", missing, want)
	}
}

// A page says where its mix stands among those that could be read, and what has moved.
func TestStanding(t *testing.T) {
	table := tableOf(t, false)
	for name, want := range map[string]string{
		"mix 10.wav": "6.5 dB away; the middle of the 4 mixes here is 3.1 dB. Nearer since the earlier mix: 8.5 dB then, 6.5 dB now. Most has happened in the air: 18.",
		"mix 2.wav":  "0.1 dB away; the middle of the 4 mixes here is 3.1 dB. As before since the earlier mix: 0.1 dB then, 0.1 dB now.",
		"=1+1.wav":   "0.4 dB away; the middle of the 4 mixes here is 3.1 dB. Before: not read, @is a letter, not a recording.",
	} {
		i := slices.IndexFunc(table.Rows, func(r Row) bool { return r.Name == name })
		if got := strings.Join(table.Standing(table.Rows[i]), " "); !strings.HasPrefix(got, want) {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
}

// The counts add up to the mixes, and one as far off as before is not called the same if a zone moved.
func TestSinceSummaryCountsAll(t *testing.T) {
	moved := &match.Progress{DistanceThenDB: 2, DistanceNowDB: 2, SameSong: true}
	for _, z := range match.Zones() {
		moved.Zones = append(moved.Zones, match.ZoneProgress{Zone: z})
	}
	moved.Zones[1].ThenDB, moved.Zones[1].NowDB = -1.9, 0.4
	table := &Table{History: true, Rows: []Row{{Since: moved}, {}, {BeforeProblem: "is a text file"}, {Problem: "is a text file"}}}
	want := "Since the earlier mixes: 1 as far off, but changed, 1 whose earlier one was not read and 1 without an earlier one."
	if got := table.sinceSummary(); got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got := table.sinceWords(table.Rows[0]); got != "before: 2.00 dB → now 2.00 dB, as far off, but changed" {
		t.Errorf("%q", got)
	}
}

// The wall shows what became of each mix, and the worksheet's text does.
func TestWallAndWorksheetSayWhatHappened(t *testing.T) {
	table := tableOf(t, false)
	wall := Wall(table, false)
	var got []string
	for _, row := range wall.Rows {
		got = append(got, row.Name+" "+row.Cells[len(row.Cells)-1].Text)
	}
	if want := []string{"=1+1 –", "mix 2 0.0", "mix 10 −2.0"}; !slices.Equal(got[:3], want) || !strings.HasPrefix(wall.Note, table.sinceCounts()) {
		t.Errorf("%q with %q", got, wall.Note)
	}
	read := slices.DeleteFunc(slices.Clone(table.Rows), func(r Row) bool { return r.Problem != "" })
	for i, row := range wall.Rows {
		for j, z := range read[i].Zones {
			if marked := strings.HasSuffix(row.Cells[j].Text, "!"); marked != (z.Verdict == match.Unusual) {
				t.Errorf("%s, %s, %v: %q", row.Name, z.Name, z.Verdict, row.Cells[j].Text)
			}
		}
	}
	table.Blank = true
	var b strings.Builder
	if err := Text(&b, table); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "before: 8.51 dB → now 6.50 dB") || !strings.Contains(b.String(), "Since the earlier mixes:") {
		t.Error(b.String())
	}
	table.History = false
	if n := len(Wall(table, false).Columns); n != len(match.Zones()) {
		t.Errorf("%d columns without earlier mixes", n)
	}
}

// The wall leads with the gravest of what is shared: off, then unusual, then farthest.
func TestByGravity(t *testing.T) {
	farthest, unusual, off := Shared{Mixes: 3, sumDB: 18}, Shared{Mixes: 3, Unusual: 1, sumDB: 9}, Shared{Mixes: 2, Off: 1, sumDB: 7}
	near := Shared{Mixes: 3, sumDB: 7}
	for _, c := range []struct {
		all  []Shared
		want Shared
	}{{[]Shared{near, farthest}, farthest}, {[]Shared{farthest, unusual}, unusual}, {[]Shared{unusual, off, farthest}, off}} {
		if got := slices.MinFunc(c.all, byGravity); got != c.want {
			t.Errorf("%+v, want %+v", got, c.want)
		}
	}
}
