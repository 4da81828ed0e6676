package document

import (
	"slices"
	"strings"
	"testing"
)

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
