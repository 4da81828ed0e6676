package match

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"toneplumb/biquad"
	"toneplumb/spectrum"
)

// Of a difference that is known but for so much of one bell, a bell there has a gain that
// is known but for so much: 1.96 deviations either way of half of it at half the way.
func TestGainRanges(t *testing.T) {
	const deviation, share = 0.2, 50 // dB for each dB of the bell; percent
	c := compare(t, invented(1, 90, flat), invented(2, 90, flat))
	bell := biquad.Filter{Shape: biquad.Bell, FreqHz: 900, GainDB: 2, Q: 1}
	perDB := bell
	perDB.GainDB = 1e-3
	curve := c.smoother.Smooth(nil, biquad.ResponseDB(nil, []biquad.Filter{perDB}, spectrum.Centres(), c.RateHz))
	n := len(c.uncertainty.Points)
	v, mean := make([]float64, n), 0.0
	for i, b := range c.uncertainty.Points {
		v[i] = curve[b] / 1e-3
		mean += v[i] / float64(n)
	}
	cov := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			cov.SetSym(i, j, deviation*deviation*(v[i]-mean)*(v[j]-mean))
		}
	}
	o := DefaultSolve()
	o.TowardPercent = share
	got := c.gainRanges([]biquad.Filter{bell}, &target{points: c.uncertainty.Points, cov: cov}, o)[0]
	if half, want := (got.highDB-got.lowDB)/2, 1.96*deviation*share/100; math.Abs(half/want-1) > 0.05 { // a bell of 2 dB is not quite as broad as one of nearly none
		t.Errorf("half the range is %.4f dB, want %.4f", half, want)
	}
}

// What is to be followed of a copy has no level, whatever the filter does to the loudness;
// and a band lies as far below a difference as above.
func TestTargetHasNoLevel(t *testing.T) {
	shelf := biquad.Filter{Shape: biquad.LowShelf, FreqHz: 400, GainDB: 6, Q: math.Sqrt2 / 2}
	c := compare(t, invented(1, 90, flat), invented(1, 90, through(shelf)))
	if level, _ := c.judged.Mean(c.DifferenceDB, 0, math.Inf(1)); math.Abs(level) > 1e-9 {
		t.Errorf("the difference has a level of %g dB", level)
	}
	if level, _ := c.judged.Mean(c.target(Rough).db, 0, math.Inf(1)); math.Abs(level) > 1e-9 { // roundings
		t.Errorf("the target has a level of %g dB", level)
	}
	other := compare(t, invented(1, 90, flat), invented(2, 90, flat))
	for b, yes := range other.judged {
		if below, above := other.DifferenceDB[b]-other.LowDB[b], other.HighDB[b]-other.DifferenceDB[b]; yes && !(below > 0 && math.Abs(below-above) < 1e-9) {
			t.Fatalf("band %d: %g dB below and %g above", b, below, above)
		}
	}
}
