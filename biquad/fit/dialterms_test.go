package fit

import (
	"math"
	"testing"

	"toneplumb/biquad"
)

// The meaning of a dial against its definition: points found on the response itself, at
// a rate so high that nothing is squeezed.
func TestDialTerms(t *testing.T) {
	const rate, tolerance = 1e6, 1e-4
	response := func(f biquad.Filter, hz float64) float64 {
		return biquad.ResponseDB(nil, []biquad.Filter{f}, []float64{hz}, rate)[0]
	}
	for _, gain := range []float64{-6, -4.5, 4.5, 6} {
		bell := DialTerms{Width: Octaves3DB}.Filter(biquad.Bell, 1000, gain, 1.5)
		edge := 1000 * math.Exp2(0.75)
		if want := gain - math.Copysign(10*math.Log10(2), gain); math.Abs(response(bell, edge)-want) > 1e-3 {
			t.Errorf("bell %+g dB, 1.5 octaves at −3 dB: %.4f dB at the edge, want %.4f", gain, response(bell, edge), want)
		}
		bell = DialTerms{Width: Octaves}.Filter(biquad.Bell, 1000, gain, 1.5)
		if math.Abs(response(bell, edge)-gain/2) > 1e-3 {
			t.Errorf("bell %+g dB, 1.5 octaves at half gain: %.4f dB at the edge", gain, response(bell, edge))
		}
		for _, shape := range []biquad.Shape{biquad.LowShelf, biquad.HighShelf} {
			steep := DialTerms{Width: DBPerOct}.Filter(shape, 1000, gain, 1.5)
			const step = 0.001
			slope := math.Abs(response(steep, 1000*math.Exp2(step))-response(steep, 1000*math.Exp2(-step))) / (2 * step)
			if math.Abs(slope-1.5) > 0.001 {
				t.Errorf("%v %+g dB at 1.5 dB/oct: %.4f", shape, gain, slope)
			}
			// A first-order shelf (S = 1/2) is (s + z)/(s + p) with z/p = 10^(gain/20):
			// of zero and pole the corner is the one on the flat side, so the half-gain
			// point lies between at the root of 10^(|gain|/20).
			corner := DialTerms{Freq: Corner}.Filter(shape, 1000, gain, 0.5)
			ratio := math.Pow(10, math.Abs(gain)/40)
			want := 1000 / ratio
			if shape == biquad.HighShelf {
				want = 1000 * ratio
			}
			if math.Abs(corner.FreqHz/want-1) > tolerance {
				t.Errorf("%v %+g dB with its corner at 1 kHz: half gain at %.2f Hz, want %.2f", shape, gain, corner.FreqHz, want)
			}
		}
	}
	// From the cookbook: a first-order corner at 4 dB is a factor of 1.26 away.
	if f := (DialTerms{Freq: Corner}).Filter(biquad.LowShelf, 126, 4, 0.5); math.Abs(f.FreqHz-100) > 0.2 {
		t.Errorf("corner of 126 Hz at 4 dB: half gain at %.2f Hz, want 100", f.FreqHz)
	}
}

func TestDialledIsTheInverse(t *testing.T) {
	const tolerance = 1e-9
	for _, shape := range shapes {
		for _, s := range []DialTerms{{}, {Freq: Corner}, {Width: ShelfQ}, {Width: DBPerOct, Freq: Corner}, {Width: Octaves}, {Width: Octaves3DB}} {
			if shelf := shape != biquad.Bell; shelf == (s.Width == Octaves || s.Width == Octaves3DB) && s.Width != OwnWidth || !shelf && s.Width == ShelfQ || !shelf && s.Width == DBPerOct {
				continue
			}
			for _, gain := range []float64{-5, -1, 2, 6} {
				width := 0.6
				if s.Width == DBPerOct {
					width = 0.4
				}
				hz, db, w := ShapeLimits{Terms: s}.Dialled(s.Filter(shape, 500, gain, width))
				if math.Abs(hz/500-1) > tolerance || db != gain || math.Abs(w-width) > tolerance {
					t.Errorf("%v %+v: 500 Hz %+g dB %g comes back as %g Hz %+g dB %g", shape, s, gain, width, hz, db, w)
				}
			}
		}
	}
}

// Dials in other terms lose little against the fit's own.
func TestRoundTerms(t *testing.T) {
	e := Default()
	e.LowShelf.Terms, e.LowShelf.Width = DialTerms{Freq: Corner, Width: NoWidth}, Dial{Values: []float64{0.5}}
	e.HighShelf.Terms, e.HighShelf.Width = DialTerms{Width: DBPerOct}, Dial{Min: 1, Max: 6, Step: 0.5}
	e.Bell.Terms, e.Bell.Width = DialTerms{Width: Octaves}, Dial{Min: 0.5, Max: 4, Step: 0.1}
	curves := songCurves(t)[:10]
	if testing.Short() {
		curves = curves[:1]
	}
	for _, c := range curves {
		p := c.Problem
		p.Equaliser = e
		free := Search(p, 4)[4]
		got := Round(p, free)
		for _, f := range got.Filters {
			a := e.Limits(f.Shape)
			hz, db, width := a.Dialled(f)
			for _, v := range []struct {
				dial  Dial
				value float64
			}{{a.FreqHz, hz}, {a.GainDB, db}, {a.Width, width}} {
				on := v.dial.settings()[nearestIndex(v.dial.settings(), v.value)]
				if math.Abs(v.value-on) > 1e-6*math.Abs(on) && !(f.Shape == biquad.HighShelf && v.dial.Max == 6) {
					t.Errorf("%s: %v: %g is not on a dial", c.name, f, v.value)
				}
			}
		}
		// 1.15 is our choice: a fixed slope and coarse widths have a price.
		if got.ResidualDB > 1.15*free.ResidualDB+0.02 {
			t.Errorf("%s: %.3f dB on the dials, %.3f free", c.name, got.ResidualDB, free.ResidualDB)
		}
	}
}
