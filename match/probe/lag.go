package probe

import (
	"context"
	"fmt"
	"math"
	"math/cmplx"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
)

// Lengths and levels used to find the lag. Our choice.
const (
	excerptSec = 30.0 // of sound, from the first one on, to find the lag in
	soundLevel = 0.003
)

// excerpt reads the front pair as one channel. Our choice: the right at half its level, so that
// neither equal nor opposite channels vanish. start is the frame of the first sound, or from if
// that is not negative.
func excerpt(ctx context.Context, open func() (audio.Source, error), from int) (x []float64, start, rateHz int, err error) {
	src, err := open()
	if err != nil {
		return nil, 0, 0, err
	}
	defer src.Close()
	rateHz = src.Format().RateHz
	most := int(excerptSec * float64(rateHz))
	start = from
	at := 0
	for block, err := range audio.Blocks(ctx, src) {
		if err != nil {
			return nil, 0, 0, err
		}
		for i, v := range block[0] {
			if len(block) > 1 {
				v += block[1][i] / 2
			}
			if start < 0 && math.Abs(v) > soundLevel {
				start = at + i
			}
			if start >= 0 && at+i >= start && len(x) < most {
				x = append(x, v)
			}
		}
		if at += len(block[0]); len(x) == most {
			break
		}
	}
	return x, start, rateHz, nil
}

// align returns by how many frames the second bounce is later and whether its polarity is
// inverted: at the lag where the phases of the spectra agree best between 50 Hz and 10 kHz (the
// phase transform: C. H. Knapp and G. C. Carter, 1976, from memory).
func align(ctx context.Context, before, after func() (audio.Source, error)) (lag int, inverted bool, rateHz int, err error) {
	x, start, rateHz, err := excerpt(ctx, before, -1)
	if err != nil {
		return 0, false, 0, err
	}
	y, _, rate2, err := excerpt(ctx, after, max(start, 0))
	if err != nil {
		return 0, false, 0, err
	}
	switch {
	case rateHz != rate2:
		return 0, false, 0, finding.RatesDiffer.Of(fmt.Errorf("%w as they stand: they have %d and %d Hz", ErrOtherMusic, rateHz, rate2))
	case rateHz < 8000 || rateHz > 192000:
		return 0, false, 0, finding.UnusableRate.Of(fmt.Errorf("have a sample rate of %d Hz, not between 8000 and 192000", rateHz))
	case len(x) == 0 || len(y) == 0:
		return 0, false, 0, finding.NoSound.Of(fmt.Errorf("%w: one is silent", ErrOtherMusic))
	}
	n := spectrum.TransformLength(max(len(x), len(y)) * 4 / 3)
	plan := spectrum.NewTransform(n)
	X, Y := transformed(plan, x, n), transformed(plan, y, n)
	bin := float64(rateHz) / float64(n)
	for k := range Y {
		hz := bin * float64(min(k, n-k))
		p := math.Sqrt(power(X[k]) * power(Y[k]))
		if hz < 50 || hz > 10000 || p == 0 {
			Y[k] = 0
			continue
		}
		Y[k] *= cmplx.Conj(X[k]) / complex(p, 0)
	}
	plan.Inverse(Y)
	lag = peakAt(Y)
	inverted = real(Y[lag]) < 0
	if lag > n/2 {
		lag -= n
	}
	return lag, inverted, rateHz, nil
}
