package match

import (
	"math"
	"testing"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

func TestLeftOut(t *testing.T) {
	wall := func(hz float64) float64 {
		if hz > 5000 {
			return -90
		}
		return 0
	}
	floor := func(hz float64) float64 {
		if hz > 2000 && hz < 3000 {
			return -30
		}
		return 0
	}
	noLows := func(hz float64) float64 {
		if hz < 50 {
			return -20
		}
		return 0
	}
	for _, c := range []struct {
		name   string
		r      *measure.Recording
		hz     float64
		reason Exclusion
	}{
		{"plain", invented(1, 60, flat), 1000, Exclusion{}},
		{"plain, low end", invented(1, 60, flat), 45, Exclusion{}},
		{"plain, top", invented(1, 60, flat), 19900, Exclusion{}},
		{"weak", invented(1, 60, wall), 8000, Exclusion{Cause: NoiseFloor}},
		{"weak elsewhere", invented(1, 60, wall), 1000, Exclusion{}},
		{"16 bit, quiet", with(invented(1, 60, func(hz float64) float64 { return floor(hz) - 35 }), func(r *measure.Recording) { r.Format.Bits = 16 }), 2500, Exclusion{Cause: NoiseFloor}},
		{"24 bit, as quiet", invented(1, 60, func(hz float64) float64 { return floor(hz) - 35 }), 2500, Exclusion{}},
		{"no lows", invented(1, 60, noLows), 42, Exclusion{NoLows, Side{}, spectrum.EdgeHz(bandAt(50) + 1)}},
		{"rumble below a gap", invented(1, 60, func(hz float64) float64 {
			if hz > 45 && hz < 62 {
				return -40
			}
			return 0
		}), 40.3, Exclusion{NoLows, Side{}, spectrum.EdgeHz(bandAt(62))}},
		{"no lows, above", invented(1, 60, noLows), 70, Exclusion{}},
		{"cut off", with(invented(1, 60, flat), func(r *measure.Recording) { r.CutoffHz = 16500 }), 15700, Exclusion{StopsThere, Side{}, 16500}},
		{"cut off, a twelfth of an octave below", with(invented(1, 60, flat), func(r *measure.Recording) { r.CutoffHz = 16500 }), 15200, Exclusion{}},
		{"low rate", with(invented(1, 60, flat), func(r *measure.Recording) { r.Format.RateHz = 22050 }), 10200, Exclusion{SampleRate, Side{}, 22050}},
	} {
		why := leftOut(Side{}, c.r, c.r.MeanPower(nil))
		got := why[bandAt(c.hz)]
		if got != c.reason {
			t.Errorf("%s, %g Hz: %+v, want %+v", c.name, c.hz, got, c.reason)
		}
	}
}

func with(r *measure.Recording, change func(*measure.Recording)) *measure.Recording {
	change(r)
	return r
}

func bandAt(hz float64) int {
	for b := range spectrum.BandCount {
		if hz < spectrum.EdgeHz(b+1) {
			return b
		}
	}
	return spectrum.BandCount - 1
}

func TestLeftOutNeverReachesTheFit(t *testing.T) {
	// The reference ends at 16.5 kHz as lossy coding leaves it; what is above
	// must not pull a high shelf.
	lossy := with(invented(1, 90, func(hz float64) float64 {
		if hz > 15700 {
			return -40
		}
		return 0
	}), func(r *measure.Recording) { r.CutoffHz = 16500 })
	r := compare(t, invented(1, 90, flat), lossy).Solve(DefaultSolve())
	for hz, left := range map[float64]bool{13500: false, 13950: true, 16000: true} { // a quarter octave below
		if got := r.LeftOut[bandAt(hz)].Cause != Kept; got != left {
			t.Errorf("%g Hz is left out: %v", hz, got)
		}
	}
	if len(r.Moves) != 0 {
		t.Errorf("moves %+v, want none", r.Moves)
	}
	if low := find[LowPass](r.Warnings); len(low) != 1 || low[0].Hz[0] != (Figure{Side{1, 1}, 16500}) || math.Abs(low[0].JudgedToHz-13725) > 1 {
		t.Errorf("findings %+v, want the low-pass of the reference, judged to 13.7 kHz", r.Warnings)
	}
}

func TestLeftOutSpans(t *testing.T) {
	stops, floor := Exclusion{StopsThere, Side{1, 1}, 16500}, Exclusion{Cause: NoiseFloor}
	c := &Comparison{Options: DefaultCompare(), LeftOut: make([]Exclusion, spectrum.BandCount)}
	for b := range c.LeftOut {
		if spectrum.CentreHz(b) > 13900 {
			c.LeftOut[b] = stops
		}
	}
	c.LeftOut[bandAt(50)], c.LeftOut[bandAt(40.3)] = floor, Exclusion{Cause: NoLows}
	spans := c.LeftOutSpans()
	if len(spans) != 3 || spans[0].Why.Cause != OutsideRange || spans[1].Why != floor || spans[2].Why != stops {
		t.Fatalf("spans %+v", spans)
	}
	if spans[0].LowHz != spectrum.EdgeHz(0) || math.Abs(spans[0].HighHz-41) > 0.1 || spans[2].HighHz != spectrum.EdgeHz(spectrum.BandCount) {
		t.Errorf("spans %+v", spans)
	}
}
