package probe

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"toneplumb/biquad"
)

// The list that is written is the list that is asked for, and what people may change.
func TestReadPlan(t *testing.T) {
	var b bytes.Buffer
	if err := WritePlan(&b, Plan()); err != nil {
		t.Fatal(err)
	}
	got, err := ReadPlan(&b)
	if err != nil || len(got) != len(Plan()) {
		t.Fatalf("%v, %v", got, err)
	}
	for i, p := range Plan() {
		if !p.Shape.IsCut() {
			p.SlopeDB = 0 // of a shelf: the table has what stands at the dial
		}
		if got[i] != p {
			t.Errorf("print %d: %+v, want %+v", p.Number, got[i], p)
		}
	}
	for _, bad := range []string{"", "print,shape\n", "print,shape,freq_hz,gain_db,width\n", "print,shape,freq_hz,gain_db,width\n1,bell,100,0.2,1\n", "print,shape,freq_hz,gain_db,width\n1,flat,,,\n1,flat,,,\n"} {
		if _, err := ReadPlan(strings.NewReader(bad)); err == nil {
			t.Errorf("%q was read", bad)
		}
	}
	for name, want := range map[string]int{"print-3.wav": 3, "a/b 2/Print 12.WAV": 12, "my-eq_take2-print-7 (24 bit).wav": 24, "print.wav": 0, "print-99999999999999999999.wav": 0} {
		if got := NumberOf(name); got != want {
			t.Errorf("%q: print %d, want %d", name, got, want)
		}
	}
}

func FuzzPlan(f *testing.F) {
	var b bytes.Buffer
	WritePlan(&b, Plan())
	f.Add(b.Bytes())
	f.Fuzz(func(t *testing.T, data []byte) {
		if all, err := ReadPlan(bytes.NewReader(data)); err == nil {
			usePrints(t, all)
		}
	})
}

// FuzzPrintNumbers writes whatever numbers as a list that can be read: bytes that are
// changed at random hardly ever are numbers.
func FuzzPrintNumbers(f *testing.F) {
	for i, p := range Plan() {
		f.Add(uint16(i+1), uint8(p.Shape), p.FreqHz, p.GainDB, p.Width)
	}
	f.Fuzz(func(t *testing.T, number uint16, shape uint8, freqHz, gainDB, width float64) {
		want := Setting{Number: int(number), Shape: biquad.Shape(shape % 5), FreqHz: freqHz, GainDB: gainDB, Width: width}
		if want.Shape.IsCut() {
			want.GainDB, want.Width, want.SlopeDB = 0, 0, width
		}
		var b bytes.Buffer
		if err := WritePlan(&b, []Setting{want}); err != nil {
			t.Fatal(err)
		}
		all, err := ReadPlan(&b)
		if err != nil {
			return
		}
		if len(all) != 1 || all[0] != want {
			t.Errorf("%+v is read as %+v", want, all)
		}
		usePrints(t, all)
	})
}

// usePrints gives every meaning to what the dials show.
func usePrints(t *testing.T, all []Setting) {
	for _, p := range all {
		for _, m := range candidates(p.Shape) {
			if f, ok := m.Filter(p, 48000); ok && !p.Flat && !p.Shape.IsCut() {
				if db := biquad.ResponseDB(nil, []biquad.Filter{f}, []float64{1000}, 48000)[0]; math.IsNaN(db) {
					t.Errorf("%+v, %+v: %v", p, m, f)
				}
			}
		}
	}
}
