package cli

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
)

// someMoves returns 3 to 5 broad filters, each in its own part of the spectrum.
func someMoves(rng *rand.Rand) []biquad.Filter {
	gain := func() float64 {
		g := 1.5 + 4.5*rng.Float64()
		if rng.IntN(2) == 0 {
			g = -g
		}
		return g
	}
	var all []biquad.Filter
	if rng.IntN(2) == 0 {
		all = append(all, biquad.Filter{Shape: biquad.LowShelf, FreqHz: 70 * math.Exp2(1.5*rng.Float64()), GainDB: gain(), Q: math.Sqrt2 / 2})
	}
	if rng.IntN(2) == 0 {
		all = append(all, biquad.Filter{Shape: biquad.HighShelf, FreqHz: 4000 * math.Exp2(1.2*rng.Float64()), GainDB: gain(), Q: math.Sqrt2 / 2})
	}
	for len(all) < 3+rng.IntN(3) {
		all = append(all, biquad.Filter{Shape: biquad.Bell, FreqHz: 80 * math.Exp2(6.5*rng.Float64()), GainDB: gain(), Q: 0.5 + 1.5*rng.Float64()})
	}
	return all
}

// soxEffect is a filter in sox's terms: its shelves take the cookbook's Q too.
func soxEffect(f biquad.Filter) []string {
	width := fmt.Sprintf("%.9fq", f.Q)
	switch f.Shape {
	case biquad.LowShelf:
		return []string{"bass", fmt.Sprintf("%.9f", f.GainDB), fmt.Sprintf("%.9f", f.FreqHz), width}
	case biquad.HighShelf:
		return []string{"treble", fmt.Sprintf("%.9f", f.GainDB), fmt.Sprintf("%.9f", f.FreqHz), width}
	default:
		return []string{"equalizer", fmt.Sprintf("%.9f", f.FreqHz), width, fmt.Sprintf("%.9f", f.GainDB)}
	}
}

// evaluationEqualiser is the default one with Q up to 4, with or without steps.
func evaluationEqualiser(continuous bool) fit.Equaliser {
	e := fit.Default()
	e.Bell.Width.Max = 4
	if continuous {
		for _, a := range []*fit.ShapeLimits{&e.LowShelf, &e.Bell, &e.HighShelf} {
			a.FreqHz = fit.Dial{Min: 20, Max: 20000}
			a.GainDB = fit.Dial{Min: -8, Max: 8}
			a.Width.Step = 0
		}
	}
	return e
}

// smoothLike smooths a curve as the comparison's were.
func smoothLike(c *match.Comparison, db []float64) []float64 {
	left := make([]bool, len(db))
	for b, why := range c.LeftOut {
		left[b] = why.Cause != match.Kept
	}
	return spectrum.NewSmoother(left, c.Options.SmoothOct).Smooth(nil, db)
}

// apart returns the rms and the largest difference of two curves over what is not
// left out between two frequencies, the mean removed.
func apart(c *match.Comparison, x, y []float64, fromHz, toHz float64) (rms, most float64) {
	var d []float64
	mean := 0.0
	for b, why := range c.LeftOut {
		if hz := spectrum.CentreHz(b); why.Cause == match.Kept && hz >= fromHz && hz <= toHz {
			d = append(d, x[b]-y[b])
			mean += x[b] - y[b]
		}
	}
	mean /= float64(len(d))
	for _, v := range d {
		rms += (v - mean) * (v - mean) / float64(len(d))
		most = max(most, math.Abs(v-mean))
	}
	return math.Sqrt(rms), most
}

// measuredTrim filters the mix and returns its loudness before less that after.
func measuredTrim(t *testing.T, path string, r *match.Result) float64 {
	src, err := audio.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer src.Close()
	format := src.Format()
	var filters []biquad.Filter
	for _, m := range r.Moves {
		filters = append(filters, m.Filter)
	}
	rate := float64(format.RateHz)
	cascade := biquad.NewCascade(filters, rate, format.Channels)
	before, after := loudness.NewMeter(rate, min(2, format.Channels)), loudness.NewMeter(rate, min(2, format.Channels))
	block := audio.NewBlock(format.Channels, 8192)
	part := make([][]float64, format.Channels)
	for {
		n, err := src.Read(block)
		if err != nil {
			break
		}
		for ch := range part {
			part[ch] = block[ch][:n]
		}
		before.Add(measure.FrontPair(part))
		cascade.Run(part)
		after.Add(measure.FrontPair(part))
	}
	return loudness.Integrated(before.Steps()) - loudness.Integrated(after.Steps())
}
