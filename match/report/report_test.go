package report

import (
	"bytes"
	"encoding/json"
	"flag"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match"
	"toneplumb/match/document"
	"toneplumb/plots"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/testkit"
)

var draw = flag.String("draw", "", "also write the charts into this folder, to look at")

// invented is a result with plain curves and the given moves.
func invented(mixName, refName string, moves []biquad.Filter) *match.Result {
	c := &match.Comparison{
		Mix: recording(mixName, -20.34), References: []*measure.Recording{recording(refName, -14.2)},
		RateHz: 44100, Options: match.DefaultCompare(), SameSong: []bool{false},
		LeftOut: make([]match.Exclusion, spectrum.BandCount), ConfidenceDB: 0.62,
	}
	r := &match.Result{Comparison: c, SolveOptions: match.DefaultSolve(), TrimDB: -1.3, LevelDifferenceDB: 6.14,
		DistanceBeforeDB: 3.12, DistanceAfterDB: 1.876}
	r.FittedDB = biquad.ResponseDB(nil, moves, spectrum.Centres(), 44100)
	for b := range spectrum.BandCount {
		hz := spectrum.CentreHz(b)
		mix, difference := -20-3*math.Log2(hz/60), 3*math.Sin(1.3*math.Log(hz))
		half := 0.45 + 0.5*math.Exp(-hz/100)
		c.MixDB = append(c.MixDB, mix)
		c.ReferenceDB = append(c.ReferenceDB, mix+difference)
		c.DifferenceDB = append(c.DifferenceDB, difference)
		c.LowDB, c.HighDB = append(c.LowDB, difference-half), append(c.HighDB, difference+half)
		r.TargetDB = append(r.TargetDB, 0.6*difference)
	}
	for i, f := range moves {
		r.Moves = append(r.Moves, match.Move{Filter: f, Dial: match.Dial{FreqHz: f.FreqHz, GainDB: f.GainDB, Width: f.Q},
			Why: []match.Why{
				{Reason: match.Off, DB: -2.8, HalfDB: 0.4, OthersDB: math.NaN(), TogetherDB: math.NaN(), References: 1},
				{Reason: match.MakesGood, DB: 2.3, OthersDB: math.NaN(), TogetherDB: math.NaN(), References: 1}}[i%2],
			GainLowDB: f.GainDB - 0.9, GainHighDB: f.GainDB + 0.9})
	}
	for i, z := range match.Zones() {
		r.Zones = append(r.Zones, match.ZoneDifference{Zone: z, DifferenceDB: 2 * math.Sin(float64(i)), HalfDB: 0.2 * float64(i), FittedDB: math.Cos(float64(i))})
	}
	return leave(r, 16500)
}

func recording(name string, lufs float64) *measure.Recording {
	return &measure.Recording{Name: measure.NameOf(name), DurationSec: 215.4, LoudnessLUFS: lufs, Format: audio.Format{RateHz: 44100, Channels: 2}}
}

// leave leaves out all above a quarter of an octave below where the reference stops.
func leave(r *match.Result, stopsHz float64) *match.Result {
	reference, aboveHz := match.Side{Number: 1, Of: 1}, stopsHz/math.Exp2(0.25)
	r.References[0].CutoffHz = stopsHz
	for b := range r.LeftOut {
		if spectrum.CentreHz(b) <= aboveHz {
			continue
		}
		r.LeftOut[b] = match.Exclusion{Cause: match.StopsThere, Side: reference, Hz: stopsHz}
		for _, db := range [][]float64{r.MixDB, r.ReferenceDB, r.DifferenceDB, r.LowDB, r.HighDB, r.TargetDB} {
			db[b] = math.NaN()
		}
	}
	for i, z := range r.Zones {
		if z.HighHz > aboveHz*1.2 {
			r.Zones[i].DifferenceDB, r.Zones[i].FittedDB, r.Zones[i].HalfDB = math.NaN(), math.NaN(), math.NaN()
		}
	}
	_, judgedToHz := r.JudgedHz()
	r.Warnings = finding.List{match.LowPass{Hz: []match.Figure{{Side: reference, Value: stopsHz}}, JudgedToHz: judgedToHz}}
	return r
}

func someMoves(n int) []biquad.Filter {
	var all []biquad.Filter
	for i := range n {
		f := biquad.Filter{Shape: biquad.Bell, FreqHz: 90 * math.Exp2(float64(i)), GainDB: 2.5 - float64(i), Q: 0.7}
		switch i {
		case 0:
			f.Shape, f.Q = biquad.LowShelf, biquad.QFromSlope(0.7, f.GainDB)
		case 7:
			f.Shape = biquad.HighShelf
		}
		all = append(all, f)
	}
	return all
}

// cases are ordinary and ugly.
func cases() map[string]*match.Result {
	plain := invented("/somewhere/rough mix.wav", "finished.flac", someMoves(3))
	plain.Mix.Counted = measure.Passages{{45, 90}, {120, 160}}
	many := invented("mix.wav", "ref.wav", someMoves(8))
	many.Moves[7].Dial.Stated.Freq = fit.Corner
	none := invented("mix.wav", "ref.wav", nil)
	long := invented("Übungsraum, 3. Aufnahme – Café «Zur Ecke» mit Publikum und Saallicht, ohne Zugabe (neu)(2).wav", "夜の部 first set\n\x1b[2J.mp3", someMoves(5))
	several := invented("mix.wav", "夜の部と昼の部、二日目のリハーサルのあと、客席で録った.wav", someMoves(2))
	for range 5 {
		several.References = append(several.References, recording("one.wav", -14.2))
	}
	several.SameSong = []bool{false, true, false, false, false, true}
	for range 7 {
		several.Warnings = append(several.Warnings, match.LargeMoves{Moves: []int{1}})
	}
	for i := range several.Moves {
		several.Moves[i].Why = match.Why{Reason: match.Off, DB: -2.8, HalfDB: 0.4, OthersDB: 3.1, TogetherDB: -1.2, References: 6}
	}
	for _, db := range several.DifferenceDB {
		several.ReferenceSpreadDB = append(several.ReferenceSpreadDB, 3.1+0*db)
	}
	copied := invented("mix.wav", "mix before.wav", someMoves(2))
	copied.SameSong, copied.ConfidenceDB = []bool{true}, 0.004
	for i := range copied.Moves {
		copied.Moves[i].GainLowDB, copied.Moves[i].GainHighDB = copied.Moves[i].GainDB, copied.Moves[i].GainDB
	}
	for b, db := range copied.DifferenceDB {
		copied.LowDB[b], copied.HighDB[b] = db-0.01, db+0.01
	}
	dull := leave(invented("mix.wav", "an old tape.mp3", someMoves(4)), 9500)
	dull.Warnings = append(dull.Warnings, match.MissingLows{OfMix: true, BelowHz: 56, LessDB: 9, References: 1})
	held := invented("second.wav", "finished.flac", someMoves(3))
	held.Warnings = append(held.Warnings, match.PreviousMoves{Name: "settings.json", DistanceDB: held.DistanceAfterDB, Use: match.Held, FittedDB: held.FittedDB})
	return map[string]*match.Result{"held": held, "plain": plain, "many": many, "none": none, "long": long, "several": several,
		"copied": copied, "dull": dull, "drawn": drawn()}
}

// drawn is a result for a drawn curve, of which nothing is measured.
func drawn() *match.Result {
	points := []document.CurvePoint{{FreqHz: 40, GainDB: 3}, {FreqHz: 200, GainDB: -2}, {FreqHz: 2000, GainDB: 0}, {FreqHz: 12000, GainDB: 2}}
	r, err := match.FitCurve(points, 48000, match.DefaultSolve())
	if err != nil {
		panic(err)
	}
	return r
}

func TestText(t *testing.T) {
	for name, r := range cases() {
		var got bytes.Buffer
		if err := Text(&got, r); err != nil {
			t.Fatal(err)
		}
		file := filepath.Join("testdata", name+".txt")
		testkit.Golden(t, file, got.Bytes())
		for line := range strings.Lines(got.String()) {
			line = strings.TrimSuffix(line, "\n")
			if n := Cells(line); n > Columns {
				t.Errorf("%s: %d Columns: %s", name, n, line)
			}
			if strings.ContainsAny(line, "\x1b\r") || strings.TrimRight(line, " ") != line {
				t.Errorf("%s: control characters or blanks at the end: %q", name, line)
			}
		}
	}
}

// The names are read by other programs: this is the agreed list.
func TestJSONNames(t *testing.T) {
	for name, r := range cases() {
		var got bytes.Buffer
		if err := JSON(&got, r); err != nil {
			t.Fatal(err)
		}
		var d map[string]any
		if err := json.Unmarshal(got.Bytes(), &d); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		keys(t, name, d, "version rate_hz smoothing_oct range_hz toward_percent stage outlook headline level mix references curve equaliser moves trim_db level_difference_db distance_before_db distance_after_db distance_after_moves_db other_stages sides loudness_after_lufs true_peak_after_dbtp lead_change_lu warnings")
		recording := "file rate_hz channels duration_s part_s passages_s loudness_lufs loudness_range_lu true_peak_dbtp cutoff_hz"
		if r.Mix != nil {
			keys(t, name+" mix", d["mix"], recording)
			keys(t, name+" reference", d["references"].([]any)[0], recording)
		}
		keys(t, name+" curve", d["curve"].([]any)[0], "freq_hz difference_db low_db high_db spread_low_db spread_high_db target_db fitted_db left_out")
		moves := d["moves"].([]any)
		if len(moves) != len(r.Moves) {
			t.Errorf("%s: %d moves, want %d", name, len(moves), len(r.Moves))
		}
		for _, w := range d["warnings"].([]any) {
			keys(t, name+" warning", w, "code severity text")
		}
		for _, m := range moves {
			keys(t, name+" move", m, "shape freq_hz gain_db gain_low_db gain_high_db q bandwidth_oct shelf_slope cut_db_per_oct by_hand reason reason_code reason_db reason_half_db reason_spread_db dial")
		}
	}
	var got bytes.Buffer
	if err := JSON(&got, cases()["plain"]); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		`"smoothing_oct": 0.3333`, `"trim_db": -1.3`, `"loudness_after_lufs": null`, `"shape": "low-shelf"`, `"shelf_slope": 0.7`,
		`"cutoff_hz": null`, `"cutoff_hz": 16500`, `"difference_db": null`, `"code": "low-pass",
    "text": "near or above 16.5 kHz, where the reference stops"`, `"left_out": null`,
	} {
		if !strings.Contains(got.String(), want) {
			t.Errorf("no %s in the document", want)
		}
	}
	for _, x := range []Number{Number(math.NaN()), Number(math.Inf(1))} {
		if b, _ := x.MarshalJSON(); string(b) != "null" {
			t.Errorf("%v becomes %s", x, b)
		}
	}
	if b, _ := Number(-0.00001).MarshalJSON(); string(b) != "0" {
		t.Errorf("−0.00001 becomes %s", b)
	}
}

func keys(t *testing.T, where string, object any, want string) {
	t.Helper()
	m, ok := object.(map[string]any)
	if !ok {
		t.Fatalf("%s is no object", where)
	}
	for _, k := range strings.Fields(want) {
		if _, ok := m[k]; !ok {
			t.Errorf("%s has no %q", where, k)
		}
	}
	if len(m) != len(strings.Fields(want)) {
		t.Errorf("%s has %d names, want %d", where, len(m), len(strings.Fields(want)))
	}
}

func TestChart(t *testing.T) {
	for name, r := range cases() {
		var got, again bytes.Buffer
		if err := Chart(r, ChartOptions{}).WritePNG(&got); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if err := Chart(r, ChartOptions{}).WritePNG(&again); err != nil || !bytes.Equal(got.Bytes(), again.Bytes()) {
			t.Errorf("%s: two charts differ (%v)", name, err)
		}
		if *draw == "" {
			continue
		}
		for look, suffix := range map[HandoutOptions]string{
			{}: "", {Sideways: true, Letter: true}: "-sideways", {Blank: true}: "-blank", {Blank: true, Sideways: true}: "-blank-sideways",
		} {
			var file bytes.Buffer
			if err := plots.WritePDF(&file, HandoutPages(r, look)...); err != nil {
				t.Errorf("%s%s: %v", name, suffix, err)
			}
			if err := os.WriteFile(filepath.Join(*draw, name+suffix+".pdf"), file.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		var dark bytes.Buffer
		if err := Chart(r, ChartOptions{Dark: true}).WritePNG(&dark); err != nil {
			t.Fatal(err)
		}
		for file, picture := range map[string][]byte{name + ".png": got.Bytes(), name + "-dark.png": dark.Bytes()} {
			if err := os.WriteFile(filepath.Join(*draw, file), picture, 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}
