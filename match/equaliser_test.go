package match

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"toneplumb/biquad/fit"
)

func TestParseEqualiser(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"nothing", ``, "is no description"},
		{"another document", `{"version":1,"mix":{}}`, `unknown field "mix"`},
		{"no version", `{"shapes":[{"shape":"bell"}]}`, "version: it is 0"},
		{"more behind", `{"version":1,"shapes":[{"shape":"bell"}]} {}`, "goes on after"},
		{"no shapes", `{"version":1}`, "shapes: there is no shelf"},
		{"only cuts", `{"version":1,"shapes":[{"shape":"low-cut","cut_db_per_oct":[12]}]}`, "shapes: there is no shelf"},
		{"unknown shape", `{"version":1,"shapes":[{"shape":"notch"}]}`, `shapes[0].shape: there is no shape "notch"`},
		{"twice", `{"version":1,"shapes":[{"shape":"bell"},{"shape":"bell"}]}`, "shapes[1].shape: bell stands twice"},
		{"cut slope", `{"version":1,"shapes":[{"shape":"low-cut","cut_db_per_oct":[12,13]}]}`, "shapes[0].cut_db_per_oct[1]: 13"},
		{"cut slope of a bell", `{"version":1,"shapes":[{"shape":"bell","cut_db_per_oct":[12]}]}`, "shapes[0].cut_db_per_oct: a bell has none"},
		{"corner of a bell", `{"version":1,"shapes":[{"shape":"bell","freq_is":"corner"}]}`, "shapes[0].freq_is"},
		{"octaves of a shelf", `{"version":1,"shapes":[{"shape":"low-shelf","width_is":"oct","width":{"values":[1]}}]}`, `a low-shelf has no width "oct"`},
		{"width without a dial", `{"version":1,"shapes":[{"shape":"bell","width_is":"oct"}]}`, "shapes[0].width: it is needed"},
		{"fixed and free", `{"version":1,"shapes":[{"shape":"bell","width_is":"none","width":{"min":1,"max":2}}]}`, "needs one value, the fixed Q"},
		{"values and steps", `{"version":1,"shapes":[{"shape":"bell","gain_db":{"values":[0],"step":1}}]}`, "shapes[0].gain_db: give values, or"},
		{"falling values", `{"version":1,"shapes":[{"shape":"bell","freq_hz":{"values":[200,100]}}]}`, "bell, frequency in Hz"},
		{"two low shelves", `{"version":1,"shapes":[{"shape":"low-shelf","count":2}]}`, "low-shelf: a count of 2"},
		{"a step without end", `{"version":1,"shapes":[{"shape":"bell","gain_db":{"min":-6,"max":6,"step":5e-324}}]}`, "bell, gain in dB: more than 100000 settings"},
		{"gain never 0", `{"version":1,"shapes":[{"shape":"bell","gain_db":{"min":1,"max":3}}]}`, "cannot be 0"},
	} {
		if _, err := ParseEqualiser([]byte(c.text)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
	e, err := ParseEqualiser([]byte(`{"version":1,"shapes":[{"shape":"bell"}]}`))
	if want := fit.Default().Bell; err != nil || e.Bell.Count != 1 || e.LowShelf.Count != 0 || e.Bell.GainDB.Max != want.GainDB.Max {
		t.Errorf("a bare bell: %+v, %v", e, err)
	}
}

// The worked descriptions are read, and what is not on their dials is never advised.
func TestWorkedEqualisers(t *testing.T) {
	files, err := filepath.Glob("../examples/equalisers/*.json")
	if err != nil || len(files) != 4 {
		t.Fatalf("%d descriptions, want 4 (%v)", len(files), err)
	}
	tilted := invented(2, 90, func(hz float64) float64 { return -8 / (1 + hz/300) })
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		e, err := ParseEqualiser(data)
		if err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		r := compare(t, invented(1, 90, flat), tilted).Solve(SolveOptions{MaxMoves: 4, TowardPercent: 100, Equaliser: e})
		if len(r.Moves) == 0 || r.DistanceAfterDB >= r.DistanceBeforeDB {
			t.Errorf("%s: %d moves, distance %.2f then %.2f dB", file, len(r.Moves), r.DistanceBeforeDB, r.DistanceAfterDB)
		}
		for _, m := range r.Moves {
			a := e.Limits(m.Shape)
			for _, v := range []struct {
				name  string
				dial  fit.Dial
				value float64
			}{{"frequency", a.FreqHz, m.Dial.FreqHz}, {"gain", a.GainDB, m.Dial.GainDB}, {"width", a.Width, m.Dial.Width}} {
				if !onDial(v.dial, v.value) {
					t.Errorf("%s: %v, %s %g is not on the dial", file, m.Shape, v.name, v.value)
				}
			}
		}
	}
}

func onDial(d fit.Dial, value float64) bool {
	const tolerance = 1e-6 // of arithmetic
	near := func(x float64) bool { return math.Abs(value-x) <= tolerance*(1+math.Abs(x)) }
	for _, x := range d.Values {
		if near(x) {
			return true
		}
	}
	if len(d.Values) > 0 {
		return false
	}
	if d.Step == 0 {
		return value > d.Min-tolerance && value < d.Max+tolerance
	}
	for i := 0; d.Min+float64(i)*d.Step < d.Max+tolerance; i++ {
		if near(d.Min + float64(i)*d.Step) {
			return true
		}
	}
	return false
}

func FuzzParseEqualiser(f *testing.F) {
	files, _ := filepath.Glob("../examples/equalisers/*.json")
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if e, err := ParseEqualiser(data); err == nil && e.Check() != nil {
			t.Errorf("a description that fails its check was read: %+v", e)
		}
	})
}

func FuzzParseCurve(f *testing.F) {
	f.Add("freq_hz,gain_db\n20,0\n\n1000,3 # a bell\n20000,0\n")
	f.Fuzz(func(t *testing.T, text string) {
		points, err := ParseCurve(strings.NewReader(text))
		if err != nil {
			return
		}
		for i, p := range points {
			if !(p.FreqHz >= 1 && p.FreqHz <= 200000 && p.GainDB >= -60 && p.GainDB <= 60) || i > 0 && p.FreqHz <= points[i-1].FreqHz {
				t.Errorf("point %d is %+v", i, p)
			}
		}
	})
}

func TestFitCurveLevelIsTrim(t *testing.T) {
	points := []CurvePoint{{20, 2.5}, {20000, 2.5}}
	r, err := FitCurve(points, 48000, SolveOptions{MaxMoves: 4, TowardPercent: 100, Equaliser: fit.Default()})
	if err != nil || len(r.Moves) != 0 || r.TrimDB < 2.499 || r.TrimDB > 2.501 {
		t.Errorf("a level curve: %+v, %v; want no moves and a trim of 2.5 dB", r, err)
	}
}

// A first line may name further columns, as curve.csv has them; lines without a gain are
// passed over.
func TestParseCurveColumns(t *testing.T) {
	for _, c := range []struct {
		text string
		want []CurvePoint
	}{
		{"left_out,gain_db,freq_hz\n,1,20\n\"above 16 kHz, cut\",,30\n,-2.5,40\n", nil}, // cells in quotes may only follow the two
		{"freq_hz,gain_db,left_out\n20,1,\n30,,\"above 16 kHz, \"\"cut\"\"; tab\"\n40,-2.5,\n", []CurvePoint{{20, 1}, {40, -2.5}}},
		{"gain_db;why;freq_hz\n1,5;;20\n-2,5;\"a,b\";40\n", []CurvePoint{{20, 1.5}, {40, -2.5}}},
		{"freq_hz,gain_db,more\n20,1,x\n40\n", nil},
		{"freq_hz,gain_db\n20,1,5\n40,2\n", nil},
	} {
		got, err := ParseCurve(strings.NewReader(c.text))
		if (err != nil) != (c.want == nil) || !slices.Equal(got, c.want) {
			t.Errorf("%q: %v, %v; want %v", c.text, got, err, c.want)
		}
	}
}
