package document

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
)

func readMove(t *testing.T, move string) (biquad.Filter, error) {
	t.Helper()
	s, err := ReadSettings(strings.NewReader(`{"version":1,"rate_hz":48000,"trim_db":0,"moves":[` + move + `]}`))
	if err != nil {
		return biquad.Filter{}, err
	}
	return s.Moves[0], nil
}

// A number may stand in any of its places, and in several where they agree.
func TestEachNumberOfAMoveOnce(t *testing.T) {
	shelf := biquad.Filter{Shape: biquad.LowShelf, FreqHz: 200, GainDB: 6, Q: biquad.QFromSlope(0.5, 6)}
	bell := biquad.Filter{Shape: biquad.Bell, FreqHz: 1000, GainDB: -3, Q: biquad.QFromBandwidth(1.5)}
	for _, row := range []struct {
		name, move string
		want       biquad.Filter
	}{
		{"slope", `{"shape":"low-shelf","freq_hz":200,"gain_db":6,"shelf_slope":0.5}`, shelf},
		{"slope and null", `{"shape":"low-shelf","freq_hz":200,"gain_db":6,"q":null,"shelf_slope":0.5,"bandwidth_oct":null}`, shelf},
		{"slope and Q, four decimals", `{"shape":"low-shelf","freq_hz":200,"gain_db":6,"q":0.4926,"shelf_slope":0.5}`, biquad.Filter{Shape: biquad.LowShelf, FreqHz: 200, GainDB: 6, Q: 0.4926}},
		{"octaves", `{"shape":"bell","freq_hz":1000,"gain_db":-3,"bandwidth_oct":1.5}`, bell},
		{"dial alone", `{"shape":"bell","dial":{"freq_hz":1000,"gain_db":-3,"width_is":"oct","width":1.5}}`, bell},
		{"corner", `{"shape":"low-shelf","gain_db":6,"shelf_slope":0.5,"dial":{"freq_is":"corner","freq_hz":282.5075}}`, shelf}, // 200·10^(6/40)
		{"width by the dial", `{"shape":"low-shelf","freq_hz":200,"gain_db":6,"dial":{"width":0.5}}`, shelf},
	} {
		got, err := readMove(t, row.move)
		const rounding = 1e-6 // of 282.5075 Hz, to four decimals
		if err != nil || got.Shape != row.want.Shape || math.Abs(got.FreqHz/row.want.FreqHz-1) > rounding ||
			got.GainDB != row.want.GainDB || math.Abs(got.Q/row.want.Q-1) > rounding {
			t.Errorf("%s: %+v, %v; want %+v", row.name, got, err, row.want)
		}
	}
}

// An edit that the move would not follow is refused with both values.
func TestMovesThatDisagree(t *testing.T) {
	const dial = `"dial":{"freq_hz":1000,"freq_is":"centre","gain_db":-3,"width":0.7,"width_is":"q"}`
	if _, err := readMove(t, `{"shape":"bell","freq_hz":1000,"gain_db":-3,"q":0.7,"bandwidth_oct":1.9169,"shelf_slope":null,`+dial+`}`); err != nil {
		t.Fatalf("a move as it was written: %v", err)
	}
	for _, row := range []struct{ move, want string }{
		{`{"shape":"bell","freq_hz":1000,"gain_db":-2.99,"q":0.7,` + dial + `}`, `moves[0].dial.gain_db" is -3, but the other fields make it -2.99`},
		{`{"shape":"bell","freq_hz":1002,"gain_db":-3,"q":0.7,` + dial + `}`, `moves[0].dial.freq_hz" is 1000, but the other fields make it 1002`},
		{`{"shape":"bell","freq_hz":1000,"gain_db":-3,"q":0.71,` + dial + `}`, `moves[0].dial.width" is 0.7, but the other fields make it 0.71`},
		{`{"shape":"bell","freq_hz":1000,"gain_db":-3,"q":0.7,"bandwidth_oct":2}`, `moves[0].bandwidth_oct" is 2, but the other fields make it 1.9169`},
		{`{"shape":"low-shelf","freq_hz":200,"gain_db":6,"q":0.5,"shelf_slope":0.7}`, `moves[0].shelf_slope" is 0.7, but`},
		{`{"shape":"low-shelf","freq_hz":200,"gain_db":6,"q":0.5,"dial":{"freq_hz":200,"freq_is":"corner"}}`, `moves[0].dial.freq_hz" is 200, but`},
		{`{"shape":"low-shelf","freq_hz":200,"gain_db":3,"dial":{"width":20,"width_is":"db-per-oct"}}`, `moves[0].dial.width" is 20, but`}, // steeper than 3 dB can be
		{`{"shape":"bell","freq_hz":1000,"gain_db":-3,"q":0.7,"shelf_slope":1}`, `moves[0].shelf_slope": a bell has none`},
		{`{"shape":"low-shelf","freq_hz":200,"gain_db":6,"q":0.7,"bandwidth_oct":1}`, `moves[0].bandwidth_oct": a low-shelf has none`},
		{`{"shape":"bell","freq_hz":1000,"gain_db":-3,"q":0.7,"cut_db_per_oct":12}`, `moves[0].cut_db_per_oct": a bell has none`},
		{`{"shape":"low-cut","freq_hz":30,"cut_db_per_oct":12,"gain_db":-3}`, `moves[0].gain_db": a low-cut has none`},
		{`{"shape":"bell","freq_hz":1000,"gain_db":-3}`, `moves[0].q" is missing`},
		{`{"shape":"bell","gain_db":-3,"q":1}`, `moves[0].freq_hz" is missing`},
		{`{"shape":"bell","freq_hz":1000,"q":1}`, `moves[0].gain_db" is missing`},
		{`{"shape":"bell","freq_hz":1000,"gain_db":-3,"q":1,"dial":{"freq_is":"corner"}}`, `moves[0].dial.freq_is" is "corner"`},
		{`{"shape":"bell","freq_hz":1000,"gain_db":-3,"q":1,"dial":{"width_is":"slope"}}`, `moves[0].dial.width_is" is "slope"`},
		{`{"shape":"low-shelf","freq_hz":200,"gain_db":6,"shelf_slope":0}`, `moves[0].shelf_slope" is 0, not between`},
		{`{"shape":"bell","freq_hz":200,"gain_db":6,"bandwidth_oct":-1}`, `moves[0].bandwidth_oct" is -1, not between`},
		{`{"shape":"bell","freq_hz":200,"gain_db":6,"dial":{"width":0,"width_is":"oct"}}`, `moves[0]`},
		{`{"shape":"bell","gain_db":6,"q":1,"dial":{"freq_hz":1e9}}`, `moves[0].freq_hz" is 1e+09, not between`},
	} {
		if got, err := readMove(t, row.move); err == nil || !strings.Contains(err.Error(), row.want) {
			t.Errorf("%s\n\tis read as %+v, %v; want %q", row.move, got, err, row.want)
		}
	}
}

// Whatever a dial stands for, what is written with four decimals is read again: the
// worst widths, gains and frequencies that an equaliser may have.
func TestRoundingIsNoDisagreement(t *testing.T) {
	type terms struct {
		freq  []fit.FreqTerm
		width []fit.WidthTerm
	}
	shelves := terms{[]fit.FreqTerm{fit.HalfGain, fit.Corner}, []fit.WidthTerm{fit.OwnWidth, fit.ShelfQ, fit.DBPerOct, fit.NoWidth}}
	of := map[biquad.Shape]terms{biquad.LowShelf: shelves, biquad.HighShelf: shelves,
		biquad.Bell: {[]fit.FreqTerm{fit.HalfGain}, []fit.WidthTerm{fit.OwnWidth, fit.Octaves, fit.Octaves3DB, fit.NoWidth}}}
	read := 0
	for shape, terms := range of {
		qs := []float64{0.05, 0.0999, 0.3, 0.7, 1.4142, 3.33333, 50}
		for _, q := range qs {
			for _, gain := range []float64{-40, -12.34567, -0.1, 0.55555, 3.02, 6, 40} {
				f := biquad.Filter{Shape: shape, FreqHz: 31.54321, GainDB: gain, Q: q}
				slope, octaves := "null", "null"
				if shape == biquad.Bell {
					octaves = fmt.Sprintf("%.4f", biquad.BandwidthFromQ(q))
				} else if q > 0.71 {
					continue // no dial of a shelf has it
				} else {
					slope = fmt.Sprintf("%.4f", biquad.SlopeFromQ(q, gain))
				}
				for _, ft := range terms.freq {
					for _, wt := range terms.width {
						a := fit.ShapeLimits{Terms: fit.DialTerms{Freq: ft, Width: wt}}
						hz, db, width := a.Dialled(f)
						freqIs, widthIs := DialWords(shape, a.Terms)
						move := fmt.Sprintf(`{"shape":%q,"freq_hz":%.4f,"gain_db":%.4f,"q":%.4f,"shelf_slope":%s,"bandwidth_oct":%s,
							"dial":{"freq_hz":%.4f,"freq_is":%q,"gain_db":%.4f,"width":%.4f,"width_is":%q}}`,
							shape, f.FreqHz, f.GainDB, f.Q, slope, octaves, hz, freqIs, db, width, widthIs)
						if _, err := readMove(t, move); err != nil {
							t.Errorf("%s: %v", move, err)
						}
						read++
					}
				}
			}
		}
	}
	if read < 500 {
		t.Errorf("only %d moves tried", read)
	}
}

// A plan of tracks is not taken for settings that lost a field.
func TestPlanIsNoSettings(t *testing.T) {
	_, err := ReadSettings(strings.NewReader(`{"version":2,"rate_hz":44100,"tracks":[],"moves":[]}`))
	if err == nil || !strings.Contains(err.Error(), "plan that tracks wrote") {
		t.Errorf("%v", err)
	}
}
