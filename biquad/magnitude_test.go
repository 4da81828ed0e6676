package biquad

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"
)

func describe(f Filter) string {
	if f.Shape.IsCut() {
		return fmt.Sprintf("%v %g Hz %d dB/oct", f.Shape, f.FreqHz, f.CutDBPerOct)
	}
	return fmt.Sprintf("%v %g Hz %+g dB Q %.4g", f.Shape, f.FreqHz, f.GainDB, f.Q)
}

func TestResponseTable(t *testing.T) {
	// Four decimals are printed in the table.
	const tol = 0.5e-4 + 1e-9
	const rate = 48000
	for _, row := range []struct {
		f            Filter
		freqHz, want []float64
	}{
		{Filter{Bell, 1000, 6, 1, 0}, []float64{100, 500, 1000, 2000, 10000}, []float64{0.0652, 1.8794, 6, 1.8660, 0.0476}},
		{Filter{LowShelf, 100, 3, math.Sqrt2 / 2, 0}, []float64{20, 50, 100, 200}, []float64{2.9951, 2.8206, 1.5, 0.1794}},
		{Filter{HighShelf, 8000, -4, math.Sqrt2 / 2, 0}, []float64{4000, 8000, 10000, 16000}, []float64{-0.1828, -2, -3.0159, -3.9495}},
	} {
		got := ResponseDB(nil, []Filter{row.f}, row.freqHz, rate)
		for i, want := range row.want {
			if !(math.Abs(got[i]-want) <= tol) {
				t.Errorf("%s at %g Hz: %.6f dB, want %.4f ± %g", describe(row.f), row.freqHz[i], got[i], want, tol)
			}
		}
	}
}

func TestWebAudio(t *testing.T) {
	const tol = 1e-6 // dB; a 32-bit float of |H| is within 2.6e-7 dB, plus its own arithmetic
	var table struct {
		RateHz float64   `json:"rate_hz"`
		FreqHz []float64 `json:"freq_hz"`
		Cases  []struct {
			Type   string
			FreqHz float64 `json:"freq_hz"`
			GainDB float64 `json:"gain_db"`
			Q      float64
			MagDB  []float64 `json:"mag_db"`
		}
	}
	readJSON(t, "webaudio_response.json", &table)
	// There a frequency is a 32-bit fraction of half the rate, which moves the steep
	// end of a low-pass by 4e-6 dB: look where the browser looked.
	freqHz := make([]float64, len(table.FreqHz))
	for i, f := range table.FreqHz {
		freqHz[i] = float64(float32(f/(table.RateHz/2))) * (table.RateHz / 2)
	}
	for _, c := range table.Cases {
		f := Filter{FreqHz: c.FreqHz, GainDB: c.GainDB, Q: QFromSlope(1, c.GainDB)}
		var got []float64
		switch c.Type {
		case "peaking":
			f.Shape, f.Q = Bell, c.Q
		case "lowshelf":
			f.Shape = LowShelf
		case "highshelf":
			f.Shape = HighShelf
		case "highpass": // its Q is Butterworth's: 20·log10(√½) = −3.01 dB
			f.Shape, f.CutDBPerOct = LowCut, 12
		case "lowpass": // no Butterworth, but the same section with another Q
			k := constant(math.Tan(math.Pi * c.FreqHz / table.RateHz))
			invQ := math.Pow(10, -c.Q/20)
			p := prototype{n: [3]dual{constant(1)}, d: [3]dual{constant(1), constant(invQ), constant(1)}, k: k}
			m := p.magnitude()
			got = powerDB(m, freqHz, table.RateHz)
		default:
			t.Fatalf("unknown type %q", c.Type)
		}
		if got == nil {
			got = ResponseDB(nil, []Filter{f}, freqHz, table.RateHz)
		}
		for i, want := range c.MagDB {
			if !(math.Abs(got[i]-want) <= tol) {
				t.Errorf("%s %g Hz %g dB Q %g at %g Hz: %.9f dB, want %.9f ± %g",
					c.Type, c.FreqHz, c.GainDB, c.Q, table.FreqHz[i], got[i], want, tol)
			}
		}
	}
	if len(table.Cases) != 12 {
		t.Errorf("%d cases, want 12", len(table.Cases))
	}
}

func powerDB(m Magnitude, freqHz []float64, rateHz float64) []float64 {
	db := make([]float64, len(freqHz))
	for i := range db {
		db[i] = 1
	}
	m.Multiply(db, Warp(nil, freqHz, rateHz))
	for i := range db {
		db[i] = powerToDB(db[i])
	}
	return db
}

func TestButterworth(t *testing.T) {
	// dB. scipy works from coefficients and loses digits far below a corner of 30 Hz.
	const tol = 1e-6
	var data scipyData
	readJSON(t, "scipy.json", &data)
	for _, c := range data.Butterworth {
		f := Filter{Shape: LowCut, FreqHz: c.CornerHz, CutDBPerOct: 6 * c.Order}
		if c.Type == "lowpass" {
			f.Shape = HighCut
		}
		got := ResponseDB(nil, []Filter{f}, c.FreqHz, c.RateHz)
		for i, want := range c.MagDB {
			if !(math.Abs(got[i]-want) <= tol) {
				t.Errorf("%s at %g Hz: %.9f dB, want %.9f ± %g", describe(f), c.FreqHz[i], got[i], want, tol)
			}
		}
	}
	if len(data.Butterworth) != 24 {
		t.Errorf("%d cases, want 24", len(data.Butterworth))
	}
}

func TestCutIsHalfPowerAtItsFrequency(t *testing.T) {
	const tol = 1e-12 // dB; a few roundings of 1e-16 in each of four sections
	for _, shape := range []Shape{LowCut, HighCut} {
		for _, steep := range []int{6, 12, 18, 24, 36, 48} {
			for _, rate := range []float64{44100, 192000} {
				for _, freq := range []float64{20, 1000, 19000} {
					f := Filter{Shape: shape, FreqHz: freq, CutDBPerOct: steep}
					got := ResponseDB(nil, []Filter{f}, []float64{freq}, rate)[0]
					if want := powerToDB(0.5); !(math.Abs(got-want) <= tol) {
						t.Errorf("%s at %g Hz rate: %.15f dB, want %.15f ± %g", describe(f), rate, got, want, tol)
					}
				}
			}
		}
	}
}

// TestNumerics compares ResponseDB with H(z) in complex numbers computed from the
// coefficients, and the prototype itself where those lose digits.
func TestNumerics(t *testing.T) {
	const tol = 1e-6           // dB: what the coefficients keep at 20 Hz and 192 kHz
	const prototypeTol = 1e-11 // dB: rounding only
	for _, rate := range []float64{8000, 44100, 192000} {
		filters := manyFilters(rate)
		for _, steep := range []int{6, 18, 48} {
			filters = append(filters, Filter{LowCut, 20, 0, 0, steep}, Filter{HighCut, 0.4 * rate, 0, 0, steep})
		}
		for _, f := range filters {
			freqs := []float64{10, 20, 40, 1000, 0.3 * rate, 0.49 * rate}
			got := ResponseDB(nil, []Filter{f}, freqs, rate)
			for i, freq := range freqs {
				if want := ampToDB(cmplx.Abs(transfer(f.Sections(rate), freq, rate))); !(math.Abs(got[i]-want) <= tol) {
					t.Errorf("%s, rate %g, at %g Hz: %.12f dB, from the coefficients %.12f ± %g", describe(f), rate, freq, got[i], want, tol)
				}
				if f.Shape != Bell {
					continue
				}
				s := complex(0, math.Tan(math.Pi*freq/rate)/math.Tan(math.Pi*f.FreqHz/rate))
				A, q := complex(math.Pow(10, f.GainDB/40), 0), complex(f.Q, 0)
				h := (s*s + s*A/q + 1) / (s*s + s/(A*q) + 1)
				if want := ampToDB(cmplx.Abs(h)); !(math.Abs(got[i]-want) <= prototypeTol) {
					t.Errorf("%s, rate %g, at %g Hz: %.15f dB, analogue %.15f ± %g", describe(f), rate, freq, got[i], want, prototypeTol)
				}
			}
		}
	}
}

// transfer returns H(z) on the unit circle by the formula of Coeffs.
func transfer(sections []Coeffs, freqHz, rateHz float64) complex128 {
	h := complex(1, 0)
	z1 := cmplx.Exp(complex(0, -2*math.Pi*freqHz/rateHz))
	for _, c := range sections {
		num := complex(c.B0, 0) + z1*(complex(c.B1, 0)+z1*complex(c.B2, 0))
		den := 1 + z1*(complex(c.A1, 0)+z1*complex(c.A2, 0))
		h *= num / den
	}
	return h
}

// BS.1770-4 K-weighting at 48 kHz from its published coefficients.
func TestCoeffsMagnitude(t *testing.T) {
	const tol = 0.5e-3 + 1e-9 // three decimals are printed
	freqs := []float64{20, 100, 1000, 10000}
	want := []float64{-13.275, -1.133, 0.698, 4.042}
	shelf := Coeffs{1.53512485958697, -2.69169618940638, 1.19839281085285, -1.69065929318241, 0.73248077421585}
	highPass := Coeffs{1, -2, 1, -1.99004745483398, 0.99007225036621}
	a, b := powerDB(shelf.Magnitude(), freqs, 48000), powerDB(highPass.Magnitude(), freqs, 48000)
	for i := range freqs {
		if got := a[i] + b[i]; !(math.Abs(got-want[i]) <= tol) {
			t.Errorf("K at %g Hz: %.4f dB, want %.3f ± %g", freqs[i], got, want[i], tol)
		}
	}
}

func TestResponseEdges(t *testing.T) {
	const rate = 48000
	if got := ResponseDB(nil, nil, []float64{20, 1000}, rate); got[0] != 0 || got[1] != 0 {
		t.Errorf("no filters: %v dB, want 0", got)
	}
	shelf := []Filter{{HighShelf, 4000, 6, 0.5, 0}}
	got := ResponseDB(nil, shelf, []float64{0, rate / 2, 100000}, rate)
	const tol = 1e-12 // dB; rounding
	for i, want := range []float64{0, 6, 6} {
		if !(math.Abs(got[i]-want) <= tol) {
			t.Errorf("high shelf, value %d: %v dB, want %v ± %g", i, got[i], want, tol)
		}
	}
	if got := ResponseDB(nil, []Filter{{Shape: LowCut, FreqHz: 20, CutDBPerOct: 48}}, []float64{0}, rate); !math.IsInf(got[0], -1) {
		t.Errorf("low cut at 0 Hz: %v dB, want -Inf", got[0])
	}
	if !panics(func() { ResponseDB(make([]float64, 3), nil, []float64{20, 1000}, rate) }) {
		t.Error("a dst of the wrong length did not panic")
	}
	if !panics(func() { Filter{Shape: LowCut, FreqHz: 20, CutDBPerOct: 6}.Magnitude(rate) }) {
		t.Error("the one section of a cut did not panic")
	}
}

func BenchmarkResponseDB(b *testing.B) {
	freqHz := make([]float64, 240) // a twenty-fourth of an octave apart
	for i := range freqHz {
		freqHz[i] = 20 * math.Pow(10, float64(i)/80)
	}
	dst := make([]float64, len(freqHz))
	b.ReportAllocs()
	for b.Loop() {
		ResponseDB(dst, someFilters(), freqHz, 48000)
	}
}
