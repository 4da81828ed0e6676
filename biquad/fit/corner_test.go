package fit

import (
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum"
)

// A high shelf that is dialled by its corner lies above the dialled frequency. At any gain
// the filter stays below half the rate, even if the dial goes up to that.
func TestCornersStayBelowHalfTheRate(t *testing.T) {
	e := Default()
	e.HighShelf.Terms.Freq = Corner
	const rateHz = 44100
	hz := spectrum.Centres()
	p := Problem{FreqHz: hz, TargetDB: make([]float64, len(hz)), Weight: make([]float64, len(hz)), RateHz: rateHz, Equaliser: e}
	for b, f := range hz {
		p.Weight[b] = 1
		if f > 9000 {
			p.TargetDB[b] = 6
		}
	}
	found := 0
	for _, s := range Search(p, 2) {
		for _, f := range append(s.Filters, Round(p, s).Filters...) {
			if err := f.Check(rateHz); err != nil {
				t.Error(err)
			}
			if f.Shape != biquad.HighShelf {
				continue
			}
			if found++; f.FreqHz > maxFreqOfRate*rateHz*1.001 {
				t.Errorf("a shelf at %.0f Hz", f.FreqHz)
			}
		}
	}
	if found == 0 {
		t.Error("no shelf was tried")
	}
}
