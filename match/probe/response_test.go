package probe

import (
	"errors"
	"math"
	"math/cmplx"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/testkit"
)

// responseDB is how near a response comes from 30 Hz to 18 kHz. Our choice: a tenth of the
// 0.5 dB by which most dials step.
const responseDB = 0.05

// worst is the largest error of a print's response, flat taken off, against the closed
// form of the filters and a level.
func worst(p *Response, filters []biquad.Filter, rateHz, levelDB float64) (db, hz float64) {
	want := biquad.ResponseDB(nil, filters, p.FreqHz, rateHz)
	for i, f := range p.FreqHz {
		if f < 30 || f > 18000 {
			continue
		}
		if d := p.DB[i] - levelDB - want[i]; math.Abs(d) > math.Abs(db) {
			db, hz = d, f
		}
	}
	return db, hz
}

func later(x []float64, n int) []float64 { return append(make([]float64, n), x...) }

func times(x []float64, g float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = g * v
	}
	return y
}

// shifted is x later by a part of a frame: the shift of a band-limited sound.
func shifted(x []float64, frames float64) []float64 {
	return inSpectrum(x, func(k, n int) complex128 {
		return cmplx.Rect(1, -2*math.Pi*float64(k)*frames/float64(n))
	})
}

// inSpectrum multiplies the spectrum of x by a response at bins 0 to n/2.
func inSpectrum(x []float64, response func(k, n int) complex128) []float64 {
	n := spectrum.TransformLength(len(x) + 8000)
	plan := spectrum.NewTransform(n)
	z := make([]complex128, n)
	for i, v := range x {
		z[i] = complex(v, 0)
	}
	plan.Forward(z)
	for k := range n/2 + 1 {
		h := response(k, n)
		z[k] *= h
		if k > 0 && k < n/2 {
			z[n-k] *= cmplx.Conj(h)
		}
	}
	plan.Inverse(z)
	y := make([]float64, len(x))
	for i := range y {
		y[i] = real(z[i])
	}
	return y
}

// What may happen to a print that is good enough.
func TestResponse(t *testing.T) {
	several := []biquad.Filter{
		{Shape: biquad.LowShelf, FreqHz: 112, GainDB: 6, Q: 0.6},
		{Shape: biquad.Bell, FreqHz: 60, GainDB: -6, Q: 4},
		{Shape: biquad.Bell, FreqHz: 1000, GainDB: 4, Q: 2},
		{Shape: biquad.HighShelf, FreqHz: 8000, GainDB: -4, Q: 0.7071},
	}
	rates := []int{44100, 48000, 96000}
	if testing.Short() {
		rates = rates[:1]
	}
	for _, rate := range rates {
		p := &Reader{Probe: Probe{rate}}
		x := filtered(p.Probe.Sound(rate), float64(rate), several...)
		for _, c := range []struct {
			name     string
			sound    []float64
			levelDB  float64
			lag      float64 // frames
			inverted bool
		}{
			{"as it is", x, 0, 0, false},
			{"later", later(x, 12345), 0, 12345, false},
			{"earlier", x[10000:], 0, -10000, false},
			{"a third of a frame later", shifted(x, 1.0/3), 0, 0, false},
			{"turned over and quieter", times(x, -0.25), 20 * math.Log10(0.25), 0, true},
			{"noise at −80 dBFS", noisy(x, -80, 1), 0, 0, false},
			{"16 bit", quantised(x), 0, 0, false},
		} {
			got, err := p.Read([][]float64{c.sound}, rate)
			if err != nil {
				t.Errorf("%d Hz, %s: %v", rate, c.name, err)
				continue
			}
			db, hz := worst(got, several, float64(rate), c.levelDB)
			t.Logf("%d Hz, %s: %+.4f dB at %.0f Hz, noise %.0f dB, lag %.6f", rate, c.name, db, hz, got.NoiseDB, got.LagSec)
			if math.Abs(db) > responseDB {
				t.Errorf("%d Hz, %s: %+.4f dB at %.0f Hz", rate, c.name, db, hz)
			}
			// The impulse response of the filters has its peak within a few frames.
			if math.Abs(got.LagSec*float64(rate)-c.lag) > 3 || got.Inverted != c.inverted {
				t.Errorf("%d Hz, %s: lag %g frames, inverted %v", rate, c.name, got.LagSec*float64(rate), got.Inverted)
			}
			if rate > 48000 {
				break
			}
		}
	}
}

func quantised(x []float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = math.RoundToEven(v*32768) / 32768
	}
	return y
}

// Prints that would teach something wrong.
func TestPrintRefused(t *testing.T) {
	testkit.Skip(t, "reads a dozen prints")
	const rate = 48000
	p := &Reader{Probe: Probe{rate}}
	x := p.Probe.Sound(rate)
	loud := times(x, 12)
	for i := range loud {
		loud[i] = math.Min(math.Max(loud[i], -1), 1)
	}
	music := noisy(make([]float64, len(x)), -20, 3)
	half := len(x) / 2
	tanh := make([]float64, len(x))
	for i, v := range x {
		tanh[i] = math.Tanh(8*v) / 8
	}
	quiet := make([]float64, len(x))
	other := filtered(x, rate, biquad.Filter{Shape: biquad.Bell, FreqHz: 1000, GainDB: 3, Q: 1})
	for _, c := range []struct {
		name  string
		sound [][]float64
		want  error
	}{
		{"clipped", [][]float64{loud}, ErrClipped},
		{"clipped and turned down", [][]float64{times(loud, 0.3)}, ErrDistorted},
		{"through a saturator", [][]float64{tanh}, ErrDistorted},
		{"another sound", [][]float64{music}, ErrNoProbe},
		{"silence", [][]float64{quiet}, ErrNoProbe},
		{"its first half", [][]float64{x[:half]}, ErrCutShort},
		{"without its last two seconds", [][]float64{x[:len(x)-2*rate]}, ErrCutShort},
		{"without its first two seconds", [][]float64{x[2*rate:]}, ErrCutShort},
		{"left and right apart", [][]float64{x, other}, ErrSides},
		{"played at another speed", [][]float64{Probe{44100}.Sound(44100)}, ErrCutShort},
		{"nothing", nil, ErrNoProbe},
	} {
		if _, err := p.Read(c.sound, rate); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want: %v", c.name, err, c.want)
		}
	}
	if _, err := p.Read([][]float64{x, quiet}, rate); err != nil {
		t.Errorf("one side only: %v", err)
	}
}
