package report

import (
	"bytes"
	"encoding/json"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"toneplumb/match"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/testkit"
)

// checks are ordinary and ugly.
func checks() map[string]*match.Check {
	one := func(mix, ref string) *match.Check {
		k := &match.Check{Comparison: invented(mix, ref, nil).Comparison, DistanceDB: 2.314, Verdict: match.Differs}
		for i, z := range match.Zones() {
			d := []float64{0.02, -2.8, 5.6, 0.7, -0.4, 1.9, math.NaN()}[i]
			v := match.ZoneVerdict{Zone: z, DifferenceDB: d, LowDB: d - 1.1, HighDB: d + 1.1, ToleranceDB: 4}
			switch i {
			case 2:
				v.Verdict = match.Differs
			case 4:
				v.LowDB, v.HighDB = -15.4, 14.6
				fallthrough
			case 5:
				v.Verdict, v.Why = match.CannotTell, match.TooUncertain
			case 6:
				v.Verdict, v.Why, v.ToleranceDB = match.CannotTell, match.LeftOutZone, math.NaN()
			}
			k.Zones = append(k.Zones, v)
		}
		return k
	}
	single := one("mix.wav", "finished.flac")
	single.Mix.Programme = measure.Programme{WholeLUFS: -11.2, RangeLU: 6.04, MomentaryMaxLUFS: -7.7, ShortTermMaxLUFS: -9, TruePeakDBTP: -0.31}
	several := one("Übungsraum, 3. Aufnahme – Café «Zur Ecke» mit Publikum und Saallicht, ohne Zugabe (neu)(2).wav", "夜の部 first set\n\x1b[2J.mp3")
	several.Odd = &match.OddReference{Index: 4, DistanceDB: 8.2, OthersDB: 3.1}
	for range 6 {
		several.References = append(several.References, recording("one.wav", -14.2))
		several.SameSong = append(several.SameSong, false)
	}
	for _, i := range []int{1, 4, 5} {
		several.Sides = append(several.Sides, match.SideVerdict{Zone: match.Zones()[i], MiddleDB: 0.3, SidesDB: 4.2, HalfDB: 1})
	}
	several.Warnings = finding.List{match.TruePeak{DBTP: -0.31}}
	several.Zones[3].DifferenceDB, several.Zones[3].LowDB, several.Zones[3].HighDB, several.Zones[3].ToleranceDB = -8, -12.1, -3.9, 12 // wide
	near := one("mix.wav", "finished.flac")
	near.Verdict, near.WithinDB = match.NearEnough, 2
	before := invented("mix.wav", "finished.flac", nil).Comparison
	before.Mix = recording("mix of monday, with the long name that people give to mixes after the third night.wav", -15)
	near.Since = &match.Progress{Before: before, DistanceThenDB: 3.5, DistanceNowDB: 1.25, LowHz: 40, HighHz: 13700}
	for i, z := range near.Zones {
		if z.Why != match.LeftOutZone {
			near.Zones[i].Verdict, near.Zones[i].Why, near.Zones[i].ToleranceDB, near.Zones[i].UsualDB = match.NearEnough, match.NoDoubt, 2, 2
		}
		near.Since.Zones = append(near.Since.Zones, match.ZoneProgress{Zone: z.Zone, ThenDB: z.DifferenceDB + float64(i) - 2, NowDB: z.DifferenceDB})
	}
	narrower, since := *near, *near.Since // the earlier mix was low-passed
	narrower.Since = &since
	since.LowHz, since.HighHz, since.Narrower, since.SameSong, since.ShiftDB = 51.6, 5310, true, true, 0.8
	since.Zones = slices.Clone(since.Zones)
	for i := range since.Zones {
		since.Zones[i].ThenDB -= 0.5 // level ignored over less
		since.Zones[i].NowDB -= 0.5
	}
	since.Zones[5].ThenDB, since.Zones[5].NowDB = math.NaN(), math.NaN()
	return map[string]*match.Check{"check-single": single, "check-several": several, "check-near": near, "check-narrower": &narrower}
}

func TestCheckText(t *testing.T) {
	for name, k := range checks() {
		var got bytes.Buffer
		if err := Check(&got, k); err != nil {
			t.Fatal(err)
		}
		file := filepath.Join("testdata", name+".txt")
		testkit.Golden(t, file, got.Bytes())
		for line := range strings.Lines(got.String()) {
			if line = strings.TrimSuffix(line, "\n"); Cells(line) > Columns || strings.ContainsAny(line, "\x1b\r") || strings.TrimRight(line, " ") != line {
				t.Errorf("%s: too wide, control characters or blanks at the end: %q", name, line)
			}
		}
	}
}

// The names are read by other programs.
func TestCheckJSONNames(t *testing.T) {
	for name, k := range checks() {
		var got bytes.Buffer
		if err := CheckJSON(&got, k); err != nil {
			t.Fatal(err)
		}
		var d map[string]any
		if err := json.Unmarshal(got.Bytes(), &d); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		keys(t, name, d, "version smoothing_oct range_hz within_db verdict distance_db mix odd_reference references zones sides before curve warnings")
		facts := "file rate_hz channels duration_s part_s passages_s loudness_lufs loudness_range_lu true_peak_dbtp cutoff_hz peak_to_loudness_db lows_lost_in_mono_db widths"
		keys(t, name+" mix", d["mix"], facts)
		if odd := d["odd_reference"]; odd != nil {
			keys(t, name+" odd reference", odd, "number distance_db others_db")
		}
		keys(t, name+" zone", d["zones"].([]any)[0], "zone range_hz mix_minus_reference_db low_db high_db tolerance_db usual_db verdict why")
		for _, z := range d["zones"].([]any) { // no tolerance where nothing is held against it
			z := z.(map[string]any)
			if left := z["why"] == match.LeftOutZone.String(); left != (z["tolerance_db"] == nil) {
				t.Errorf("%s: %v", name, z)
			}
		}
		keys(t, name+" curve", d["curve"].([]any)[0], "freq_hz mix_minus_reference_db low_db high_db left_out")
		for _, s := range d["sides"].([]any) {
			keys(t, name+" side", s, "zone mid_minus_reference_db side_minus_reference_db half_db or_more")
		}
		if before := d["before"]; before != nil {
			keys(t, name+" before", before, "mix same_song judged_hz distance_then_db distance_now_db nearness zones")
			keys(t, name+" before", before.(map[string]any)["zones"].([]any)[0], "zone mix_minus_reference_then_db mix_minus_reference_now_db moved_db nearness")
		}
	}
}

// The chart says whose mix it is, beside what stands against it.
// What the words and marks in the table mean stands below it, if there are any; and five remarks have room.
// A chart of a check beside an earlier mix says where that was, as curve, cell and distance.
// Beside an earlier mix of which less is judged, curve and column are on the level of the mix now, and a note says over what.
// What has no room below a chart is called by what it is about.
// In the document's curve, too, the ends of the likely range are on either side of the difference:
// both change their sign in it, and so their places.
func TestCheckJSONEnds(t *testing.T) {
	seen := 0
	for name, k := range checks() {
		var b bytes.Buffer
		if err := CheckJSON(&b, k); err != nil {
			t.Fatal(err)
		}
		var d struct {
			Curve []struct {
				DifferenceDB *float64 `json:"mix_minus_reference_db"`
				LowDB        *float64 `json:"low_db"`
				HighDB       *float64 `json:"high_db"`
			}
		}
		if err := json.Unmarshal(b.Bytes(), &d); err != nil {
			t.Fatal(err)
		}
		for i, p := range d.Curve {
			if p.DifferenceDB == nil || p.LowDB == nil || p.HighDB == nil {
				continue
			}
			if seen++; !(*p.LowDB <= *p.DifferenceDB && *p.DifferenceDB <= *p.HighDB) {
				t.Fatalf("%s, band %d: %g to %g around %g dB", name, i, *p.LowDB, *p.HighDB, *p.DifferenceDB)
			}
		}
	}
	if seen == 0 {
		t.Error("no likely range in any curve")
	}
}

// A cell of a table has what the JSON document has, and nothing where that is null.
func TestCell(t *testing.T) {
	for want, n := range map[string]*Number{"0": Known(-1e-5), "1.2346": Known(1.23456), "-3": Known(-3)} {
		if got := n.Cell(); got != want {
			t.Errorf("%v: %q, want %q", float64(*n), got, want)
		}
	}
	for _, n := range []*Number{nil, Known(math.NaN()), Known(math.Inf(-1))} {
		if got := n.Cell(); got != "" {
			t.Errorf("no value: %q", got)
		}
	}
}

func TestJudgesLittle(t *testing.T) {
	for _, row := range []struct {
		withinDB   float64
		references int
		ownSong    bool
		want       string
	}{
		{0, 1, false, "Beside one reference only large faults show."}, {0, 2, false, "Beside two references only large faults show."},
		{0, 3, false, ""}, {3, 1, false, ""}, {0, 1, true, ""},
	} {
		if got := JudgesLittle(row.withinDB, row.references, row.ownSong); got != row.want {
			t.Errorf("%+v: %q", row, got)
		}
	}
}

// A zone that is too close to call says which half of the rule keeps it so.
func TestWhyOpen(t *testing.T) {
	zone := func(name string, db, half float64) match.ZoneVerdict {
		return match.ZoneVerdict{Zone: match.Zone{Name: name}, DifferenceDB: db, LowDB: db - half, HighDB: db + half, ToleranceDB: 1.5, Verdict: match.CannotTell, Why: match.TooUncertain}
	}
	k := &match.Check{Zones: []match.ZoneVerdict{zone("high mids", -2.5, 1.1), zone("air", 0.3, 1.8)}}
	const want = " Too close to call: outside, but the likely range reaches inside (high mids); inside, but half the likely range is more than the tolerance (air)."
	if got := whyOpen(k); got != want {
		t.Errorf("%q, want %q", got, want)
	}
	k.Zones[0].Why, k.Zones[1].Why = match.NoDoubt, match.LeftOutZone
	if got := whyOpen(k); got != "" {
		t.Errorf("nothing open: %q", got)
	}
}
