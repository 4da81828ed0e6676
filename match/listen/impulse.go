package listen

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

const (
	// restOfPeak is the largest share that the omitted rest of an impulse response may have,
	// relative to its peak: −120 dB. It bounds the sum of the magnitudes of all omitted
	// samples, so no sound, not even a steady tone at a narrow move's own frequency, loses
	// more than that share.
	restOfPeak = 1e-6
	// overOfPeak ends the computation of the response. Our choice: once a whole block is this
	// far below the peak, the rest is below restOfPeak even for the narrowest move that is
	// accepted (Q 50 and +40 dB at 10 Hz and 192 kHz, a time constant of 3e6 frames).
	overOfPeak = 1e-14

	impulseFrames = 1 << 14 // computed at a time
)

// Impulse computes the impulse response of the moves and the trim at rateHz until the rest is
// 120 dB below its peak, and returns its length in frames. It passes the response to sink as
// blocks of one channel, which sink must not keep. Convolution with it gives the sound of
// [Render]. The response is computed twice instead of stored, so memory does not grow with
// its length. It returns an error if rateHz is below [measure.MinRateHz] or a move does not fit
// below half of rateHz, and those of ctx and sink.
func Impulse(ctx context.Context, s *document.Settings, rateHz float64, sink func(block [][]float64) error) (frames int64, err error) {
	if !(rateHz >= measure.MinRateHz) {
		return 0, fmt.Errorf("a sample rate of %g Hz is below %d", rateHz, measure.MinRateHz)
	}
	sections, err := sections(s, rateHz)
	if err != nil {
		return 0, err
	}
	// First the sum of the whole response, then the response up to the rest.
	peak, sum := 0.0, 0.0
	err = respond(ctx, sections, s.TrimDB, func(x []float64) (more bool, err error) {
		largest := floats.Norm(x, math.Inf(1))
		sum, peak = sum+floats.Norm(x, 1), max(peak, largest)
		return largest > overOfPeak*peak, nil
	})
	if err != nil {
		return 0, err
	}
	soFar := 0.0
	err = respond(ctx, sections, s.TrimDB, func(x []float64) (more bool, err error) {
		n := 0
		for more = true; more && n < len(x); n++ {
			soFar += math.Abs(x[n])
			more = sum-soFar > restOfPeak*peak
		}
		frames += int64(n)
		return more, sink([][]float64{x[:n]})
	})
	return frames, err
}

// respond computes the response of filters and trim to an impulse of 1, block by block, for
// as long as take asks for more.
func respond(ctx context.Context, sections []biquad.Coeffs, trimDB float64, take func(x []float64) (more bool, err error)) error {
	cascade, gain := biquad.NewCascadeOf(sections, 1), spectrum.DBToAmp(trimDB)
	x := make([]float64, impulseFrames)
	for start := true; ; start = false {
		if err := ctx.Err(); err != nil {
			return err
		}
		clear(x)
		if start {
			x[0] = 1
		}
		run(cascade, gain, [][]float64{x})
		if more, err := take(x); err != nil || !more {
			return err
		}
	}
}
