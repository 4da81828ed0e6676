package probe

import (
	"context"
	"errors"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/memory"
	"toneplumb/spectrum/testkit"
)

func opens(rateHz int, x ...[]float64) func() (audio.Source, error) {
	return func() (audio.Source, error) { return &memory.Sound{RateHz: rateHz, X: x}, nil }
}

// piece is notes of decaying partials over a falling noise floor: music enough to have
// gaps between its tones.
func piece(sec float64, rateHz int, seed uint64) []float64 {
	rng := rand.New(rand.NewPCG(seed, 6))
	x := make([]float64, int(sec*float64(rateHz)))
	hiss := 0.0
	for i := range x {
		hiss += 0.1 * (0.02*rng.NormFloat64() - hiss)
		x[i] = hiss
	}
	for at := 0.0; at < sec-1; at += 0.12 {
		hz := 40 * math.Pow(2, float64(rng.IntN(60))/12)
		for h := 1.0; h < 16 && h*hz < 0.45*float64(rateHz); h++ {
			level, phase := 0.1/h, 2*math.Pi*rng.Float64()
			turn := cmplx.Rect(math.Exp(-(4+h)/float64(rateHz)), 2*math.Pi*h*hz/float64(rateHz))
			v := cmplx.Rect(level, phase)
			for i := range int(0.5 * float64(rateHz)) {
				x[int(at*float64(rateHz))+i] += real(v)
				v *= turn
			}
		}
	}
	return x
}

// On music the response is right within 0.05 dB wherever a band is judged, and each
// move's gain, whatever has happened beside.
func TestTransferFunction(t *testing.T) {
	testkit.Skip(t, "reads minutes of music")
	const rate = 44100
	asked := []biquad.Filter{
		{Shape: biquad.LowShelf, FreqHz: 112, GainDB: 3.5, Q: 0.6},
		{Shape: biquad.Bell, FreqHz: 425, GainDB: -2.5, Q: 0.8},
		{Shape: biquad.Bell, FreqHz: 3150, GainDB: 1.5, Q: 2},
		{Shape: biquad.HighShelf, FreqHz: 8000, GainDB: 4, Q: 0.7071},
	}
	wrong := append([]biquad.Filter(nil), asked...)
	wrong[1].GainDB, wrong[1].FreqHz = -4, 500
	s := &document.Settings{RateHz: rate, Moves: asked, TrimDB: -1.2}
	left, right := piece(25, rate, 1), piece(25, rate, 2)
	for _, c := range []struct {
		name    string
		filters []biquad.Filter
		change  func(x []float64) []float64
		levelDB float64
	}{
		{"as asked", asked, func(x []float64) []float64 { return x }, 0},
		{"later by a part of a frame, turned over, quieter", asked, func(x []float64) []float64 { return times(shifted(later(x, 54321), 0.4), -0.5) }, 20 * math.Log10(0.5)},
		{"earlier, noise at −80 dBFS", asked, func(x []float64) []float64 { return noisy(x[20000:], -80, 4) }, 0},
		{"one move wrong", wrong, func(x []float64) []float64 { return x }, 0},
	} {
		trim := math.Pow(10, s.TrimDB/20)
		l := c.change(times(filtered(left, rate, c.filters...), trim))
		r := c.change(times(filtered(right, rate, c.filters...), trim))
		got, err := NewTransferFunction(context.Background(), opens(rate, left, right), opens(rate, l, r), s)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		want := biquad.ResponseDB(nil, c.filters, spectrum.Centres(), rate)
		worst, at, judged := 0.0, 0.0, 0
		for b, why := range got.LeftOut {
			if hz := spectrum.CentreHz(b); why == "" {
				judged++
				if d := got.GotDB[b] - want[b] - s.TrimDB - c.levelDB; math.Abs(d) > math.Abs(worst) {
					worst, at = d, hz
				}
			}
		}
		t.Logf("%s: %+.4f dB at %.0f Hz, %d bands judged, lag %.5f s, worst of asked %+.2f dB at %.0f Hz", c.name, worst, at, judged, got.LagSec, got.WorstDB, got.WorstHz)
		if math.Abs(worst) > responseDB || judged < 180 {
			t.Errorf("%s: %+.3f dB at %.0f Hz, %d bands judged", c.name, worst, at, judged)
		}
		if d := got.LevelDB - s.TrimDB - c.levelDB; math.Abs(d) > responseDB {
			t.Errorf("%s: level %+.3f dB off", c.name, d)
		}
		for i, m := range got.Moves {
			t.Logf("  %v got %v", c.filters[i], m.Got)
			if math.Abs(m.Got.GainDB-c.filters[i].GainDB) > 0.1 || math.Abs(math.Log(m.Got.FreqHz/c.filters[i].FreqHz)) > 0.05 {
				t.Errorf("%s: move %d: got %v, want %v", c.name, i+1, m.Got, c.filters[i])
			}
		}
	}
	l, r := filtered(left, rate, asked...), filtered(right, rate, asked...)
	tanh := func(x []float64) []float64 {
		y := make([]float64, len(x))
		for i, v := range x {
			y[i] = math.Tanh(2*v) / 2
		}
		return y
	}
	for _, c := range []struct {
		name           string
		left, right    []float64
		want           FindingKind
		balance, sides float64
	}{
		{"as asked", l, r, "", 0, 0},
		{"noise at −80 dBFS", noisy(l, -80, 8), noisy(r, -80, 9), "", 0, 0},
		{"right 0.5 dB up", l, times(r, math.Pow(10, 0.5/20)), Balance, 0.5, 0},
		{"the left alone", l, right, SidesUnlike, 0, 3},
		{"saturation", tanh(l), tanh(r), NoFilter, 0, 0},
	} {
		got, err := NewTransferFunction(context.Background(), opens(rate, left, right), opens(rate, c.left, c.right), s)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		var codes []string
		for _, f := range got.Findings() {
			codes = append(codes, f.Code())
		}
		t.Logf("%s: others %.1f dB, balance %+.2f, sides %+.2f at %.0f Hz: %q", c.name, got.OtherDB, got.BalanceDB, got.SidesDB, got.SidesHz, codes)
		if (c.want == "") != (codes == nil) || c.want != "" && !slices.Contains(codes, string(c.want)) {
			t.Errorf("%s: %q, want %q", c.name, codes, c.want)
		}
		if c.sides == 0 && (math.Abs(got.BalanceDB-c.balance) > 0.05 || math.Abs(got.SidesDB) > UnlikeDB) || c.sides > 0 && math.Abs(got.SidesDB) < c.sides {
			t.Errorf("%s: balance %.2f dB, sides %.2f", c.name, got.BalanceDB, got.SidesDB)
		}
	}
	hard := times(left, 20)
	for i := range hard {
		hard[i] = math.Min(math.Max(hard[i], -1), 1)
	}
	if got, err := NewTransferFunction(context.Background(), opens(rate, left), opens(rate, hard), &document.Settings{RateHz: rate}); err == nil && got.Clipped == 0 {
		t.Error("clipping is not told")
	}
	for _, c := range []struct {
		name  string
		after func() (audio.Source, error)
		kind  finding.ErrorKind
	}{
		{"another piece", opens(rate, piece(25, rate, 3), piece(25, rate, 4)), finding.OtherMusic},
		{"silence", opens(rate, make([]float64, 25*rate)), finding.OtherMusic},
		{"another rate", opens(48000, left, right), finding.RatesDiffer},
		{"ten seconds", opens(rate, left[:7*rate], right[:7*rate]), finding.TooLittleMusic},
	} {
		_, err := NewTransferFunction(context.Background(), opens(rate, left, right), c.after, s)
		if kind := finding.KindOf(err, finding.OtherMusic); !errors.Is(err, ErrOtherMusic) || kind != c.kind {
			t.Errorf("%s: %v, of kind %s", c.name, err, kind)
		}
	}
}
