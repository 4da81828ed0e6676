package document

import (
	"os"
	"path/filepath"
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

func FuzzParseEqualiser(f *testing.F) {
	files, _ := filepath.Glob("../../examples/equalisers/*.json")
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
