package fit

import (
	"math"
	"testing"
)

func TestPreferredNumbers(t *testing.T) {
	const tol = 0.013 // ISO 3 rounds 10^(i/40) by up to 1.3 % (from memory)
	got := preferredHz(20, 20000)
	if len(got) != 121 || got[0] != 20 || got[40] != 200 || got[120] != 20000 {
		t.Fatalf("%d numbers: %v", len(got), got)
	}
	for i, f := range got {
		if exact := 20 * math.Pow(10, float64(i)/40); !(math.Abs(f/exact-1) <= tol) {
			t.Errorf("number %d is %g, the exact one %g", i, f, exact)
		}
	}
	if got[13] != 42.5 { // a decimal, not 42.499999999999996 or 42.50000000000001
		t.Errorf("number 13 is %.17g, want 42.5", got[13])
	}
}

func TestDialSettings(t *testing.T) {
	q := Default().Bell.Width.settings()
	if len(q) != 16 || q[0] != 0.5 || q[2] != 0.7 || q[15] != 2 {
		t.Errorf("Q dial: %v", q)
	}
	d, left := Dial{Values: []float64{20, 200, 2000}}.below(200)
	if low, high := d.limits(); !left || low != 20 || high != 200 {
		t.Errorf("20 and 200 Hz should be left of the list: %v, %v", d, left)
	}
	if _, left := (Dial{Values: []float64{20}}).below(10); left {
		t.Error("nothing of the list lies below 10")
	}
	if _, left := (Dial{Min: 20, Max: 30}).below(10); left {
		t.Error("nothing of the range lies below 10")
	}
}

func TestCheckEqualiser(t *testing.T) {
	for _, row := range []struct {
		name   string
		change func(e *Equaliser)
		ok     bool
	}{
		{"the default", func(e *Equaliser) {}, true},
		{"no filters at all", func(e *Equaliser) { *e = Equaliser{} }, true},
		{"an unused shape of nonsense", func(e *Equaliser) { e.Bell = ShapeLimits{GainDB: Dial{Min: 5, Max: -5}} }, true},
		{"continuous dials", func(e *Equaliser) { e.Bell.GainDB.Step, e.Bell.FreqHz = 0, Dial{Min: 20, Max: 20000} }, true},
		{"a fixed width", func(e *Equaliser) { e.Bell.Width = Dial{Min: 1, Max: 1} }, true},
		{"two high shelves", func(e *Equaliser) { e.HighShelf.Count = 2 }, false},
		{"a negative count", func(e *Equaliser) { e.Bell.Count = -1 }, false},
		{"frequencies in disorder", func(e *Equaliser) { e.Bell.FreqHz.Values = []float64{100, 90} }, false},
		{"a frequency of 0", func(e *Equaliser) { e.Bell.FreqHz = Dial{Min: 0, Max: 1000} }, false},
		{"only boosts above 1 dB", func(e *Equaliser) { e.Bell.GainDB.Min = 1 }, false},
		{"a Q of 0", func(e *Equaliser) { e.Bell.Width.Min = 0 }, false},
		{"a slope no shelf has", func(e *Equaliser) { e.LowShelf.Width.Max = 3 }, false},
		{"NaN", func(e *Equaliser) { e.Bell.GainDB.Max = math.NaN() }, false},
		{"frequencies in steps of 1 Hz", func(e *Equaliser) { e.Bell.FreqHz = Dial{Min: 20, Max: 20000, Step: 1} }, true},
		{"a step that makes millions of settings", func(e *Equaliser) { e.Bell.GainDB.Step = 1e-6 }, false},
		{"the smallest step there is", func(e *Equaliser) { e.Bell.GainDB.Step = 5e-324 }, false},
		{"a negative step", func(e *Equaliser) { e.Bell.GainDB.Step = -1 }, false},
		{"a step beyond the range", func(e *Equaliser) { e.Bell.GainDB.Step = 20 }, false},
	} {
		e := Default()
		row.change(&e)
		if err := e.Check(); (err == nil) != row.ok {
			t.Errorf("%s: Check = %v, want ok = %v", row.name, err, row.ok)
		}
	}
}

// A dial is the same upside down only if each of its settings is.
func TestSymmetric(t *testing.T) {
	for _, row := range []struct {
		dial Dial
		want bool
	}{
		{Dial{Min: -6, Max: 6, Step: 0.5}, true},
		{Dial{Min: -6, Max: 6}, true},
		{Dial{Values: []float64{-4, 0, 4}}, true},
		{Dial{Min: -10, Max: 4, Step: 1}, false},
		{Dial{Min: -6, Max: 6, Step: 5}, false}, // −6, −1, 4
		{Dial{Min: -10, Max: 4}, false},
		{Dial{Values: []float64{-4, 0, 3}}, false},
	} {
		if got := row.dial.Symmetric(); got != row.want {
			t.Errorf("%+v: %v", row.dial, got)
		}
	}
}
