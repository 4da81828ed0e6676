package listen

import (
	"context"
	"fmt"
	"math"

	"toneplumb/biquad"
	"toneplumb/match/document"
)

const (
	// restOfPeak is how small the rest of an impulse response must be to be left away:
	// −120 dB. It is the sum of all that would follow, so no sound, not even a steady
	// tone at a narrow move's own frequency, lacks more than that share.
	restOfPeak = 1e-6
	// overOfPeak ends the search for the rest. Our choice: where a whole block lies
	// this far below the peak, what follows is below restOfPeak even for the narrowest
	// move that is let through (Q 50 and +40 dB at 10 Hz and 192 kHz: 3e6 frames to a
	// time constant).
	overOfPeak = 1e-14

	impulseFrames = 1 << 14 // at once
)

// Impulse hands the impulse response of the moves and the trim at rateHz to sink, one
// channel in blocks that sink must not keep, as long as it takes to fall to −120 dB of
// its largest sample, and returns its frames. Convolved with it a mix sounds as Render
// makes it. It goes through the response twice, so memory is flat. It refuses a move
// that does not fit below half of rateHz.
func Impulse(ctx context.Context, s *document.Settings, rateHz float64, sink func(block [][]float64) error) (frames int64, err error) {
	if !(rateHz >= MinRateHz) {
		return 0, fmt.Errorf("a sample rate of %g Hz is below %d", rateHz, MinRateHz)
	}
	sections, err := sections(s, rateHz)
	if err != nil {
		return 0, err
	}
	// First the sum of it all, then as much as leaves only the rest.
	peak, sum := 0.0, 0.0
	err = respond(ctx, sections, s.TrimDB, func(x []float64) (more bool, err error) {
		largest := 0.0
		for _, v := range x {
			largest = max(largest, math.Abs(v))
			sum += math.Abs(v)
		}
		peak = max(peak, largest)
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

// respond runs an impulse of 1 through filters and trim, block by block, for as long
// as take wants more.
func respond(ctx context.Context, sections []biquad.Coeffs, trimDB float64, take func(x []float64) (more bool, err error)) error {
	cascade, gain := biquad.NewCascadeOf(sections, 1), dbToAmp(trimDB)
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
