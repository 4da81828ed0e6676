package fit

import (
	"slices"
	"testing"
)

func TestBetween(t *testing.T) {
	e := Default()
	e.Bell.FreqHz = Dial{Min: 100, Max: 500, Step: 100}
	e.HighShelf.FreqHz = Dial{Min: 2000, Max: 20000}
	e.LowShelf.FreqHz = Dial{Values: []float64{50, 100, 200}}
	got := e.Restrict(120, 3000)
	if !slices.Equal(got.Bell.FreqHz.settings(), []float64{200, 300, 400, 500}) {
		t.Errorf("bell %v", got.Bell.FreqHz)
	}
	if got.HighShelf.FreqHz.Min != 2000 || got.HighShelf.FreqHz.Max != 3000 {
		t.Errorf("high shelf %v", got.HighShelf.FreqHz)
	}
	if !slices.Equal(got.LowShelf.FreqHz.Values, []float64{200}) {
		t.Errorf("low shelf %v", got.LowShelf.FreqHz)
	}
	if got = e.Restrict(5, 40); got.LowShelf.Count != 0 || got.HighShelf.Count != 0 || got.Bell.Count != 0 || got.Check() != nil {
		t.Errorf("nothing inside: %+v", got)
	}
}
