package biquad

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// Coefficients are compared relative to the largest of their section: the table
// has 15 digits, and each of ours is a few roundings of 1e-16.
const coeffTol = 1e-12

// The coefficients of three filters at 48 kHz as the cookbook's formulas give
// them; ffmpeg 5.1, sox 14.4.2 and Chromium agree with those to 1e-6 dB.
func TestCoefficientTable(t *testing.T) {
	const rate = 48000
	shelfQ := math.Sqrt2 / 2 // S = 1
	for _, row := range []struct {
		name string
		f    Filter
		want Coeffs
	}{
		{"bell 1 kHz +6 dB Q 1", Filter{Bell, 1000, 6, 1, 0},
			Coeffs{1.04395308699034, -1.8953207239366, 0.867722284759857, -1.8953207239366, 0.911675371750192}},
		{"low shelf 100 Hz +3 dB S 1", Filter{LowShelf, 100, 3, shelfQ, 0},
			Coeffs{1.00160167823295, -1.98299025370736, 0.981590506178919, -1.98301974106412, 0.983162697055112}},
		{"high shelf 8 kHz -4 dB S 1", Filter{HighShelf, 8000, -4, shelfQ, 0},
			Coeffs{0.739665724472926, -0.367563410893916, 0.159448628068973, -0.737999011331655, 0.269549952979638}},
	} {
		sameCoeffs(t, row.name, row.f.Sections(rate)[0], row.want)
	}
}

// The cookbook's digital formulas, as they are written there.
func TestCookbookFormulas(t *testing.T) {
	for _, rate := range []float64{8000, 48000, 192000} {
		for _, f := range manyFilters(rate) {
			A := math.Pow(10, f.GainDB/40)
			w0 := 2 * math.Pi * f.FreqHz / rate
			cw := math.Cos(w0)
			alpha := math.Sin(w0) / (2 * f.Q)
			r := 2 * math.Sqrt(A) * alpha
			var b, a [3]float64
			switch f.Shape {
			case Bell:
				b = [3]float64{1 + alpha*A, -2 * cw, 1 - alpha*A}
				a = [3]float64{1 + alpha/A, -2 * cw, 1 - alpha/A}
			case LowShelf:
				b = [3]float64{A * ((A + 1) - (A-1)*cw + r), 2 * A * ((A - 1) - (A+1)*cw), A * ((A + 1) - (A-1)*cw - r)}
				a = [3]float64{(A + 1) + (A-1)*cw + r, -2 * ((A - 1) + (A+1)*cw), (A + 1) + (A-1)*cw - r}
			case HighShelf:
				b = [3]float64{A * ((A + 1) + (A-1)*cw + r), -2 * A * ((A - 1) + (A+1)*cw), A * ((A + 1) + (A-1)*cw - r)}
				a = [3]float64{(A + 1) - (A-1)*cw + r, 2 * ((A - 1) - (A+1)*cw), (A + 1) - (A-1)*cw - r}
			}
			want := Coeffs{b[0] / a[0], b[1] / a[0], b[2] / a[0], a[1] / a[0], a[2] / a[0]}
			sameCoeffs(t, describe(f), f.Sections(rate)[0], want)
		}
	}
}

func sameCoeffs(t *testing.T, name string, got, want Coeffs) {
	t.Helper()
	g := [5]float64{got.B0, got.B1, got.B2, got.A1, got.A2}
	w := [5]float64{want.B0, want.B1, want.B2, want.A1, want.A2}
	largest := 1.0
	for _, x := range w {
		largest = max(largest, math.Abs(x))
	}
	for i := range g {
		if !(math.Abs(g[i]-w[i]) <= coeffTol*largest) {
			t.Errorf("%s: coefficient %d of b0 b1 b2 a1 a2 is %.16g, want %.16g ± %g", name, i, g[i], w[i], coeffTol*largest)
		}
	}
}

// manyFilters returns shelves and bells over the audible range and its edges.
func manyFilters(rate float64) []Filter {
	var filters []Filter
	for _, shape := range []Shape{LowShelf, Bell, HighShelf} {
		for _, freq := range []float64{20, 100, 1000, 0.2 * rate, 0.45 * rate} {
			for _, gain := range []float64{-12, -1, 0, 0.5, 6} {
				for _, q := range []float64{0.3, 0.5, math.Sqrt2 / 2, 2, 8} {
					filters = append(filters, Filter{shape, freq, gain, q, 0})
				}
			}
		}
	}
	return filters
}

// scipyData is testdata/scipy.json; make_scipy.py beside it says how it was made.
type scipyData struct {
	Butterworth []struct {
		Type     string
		Order    int
		CornerHz float64   `json:"corner_hz"`
		RateHz   float64   `json:"rate_hz"`
		FreqHz   []float64 `json:"freq_hz"`
		MagDB    []float64 `json:"mag_db"`
	}
	SOS      [][6]float64
	Every    int
	Filtered []float64
}

func readJSON(t *testing.T, name string, into any) {
	t.Helper()
	text, err := os.ReadFile("testdata/" + name)
	if err == nil {
		err = json.Unmarshal(text, into)
	}
	if err != nil {
		t.Fatal(err)
	}
}
