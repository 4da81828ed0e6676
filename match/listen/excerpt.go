package listen

import (
	"context"
	"io"
	"math"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
)

// Excerpt is a stretch of a recording, to be heard. Of more than two channels it holds
// the front pair, as that is judged.
type Excerpt struct {
	RateHz  int
	FromSec float64     // where in the recording it starts
	X       [][]float64 // one or two channels
	ScaleDB float64     // by how much it is louder than in the recording, see Cut
}

// Loudest returns where the loudest stretch of so many seconds starts, in seconds: of
// what counts in the recording, by K-weighted power, on whole 100 ms. It is 0 of what is
// shorter and of a profile, which has no sound.
func Loudest(r *measure.Recording, sec float64) float64 {
	steps := int(math.Ceil(sec * loudness.StepsPerSecond))
	if steps >= len(r.StepPower) {
		return 0
	}
	sum, most, at := 0.0, 0.0, 0
	for i := range r.StepPower {
		sum += counted(r, i)
		if i >= steps {
			sum -= counted(r, i-steps)
		}
		// More by a rounding error is not louder: of equals the first.
		if i >= steps-1 && sum > most*(1+1e-9) {
			most, at = sum, i-steps+1
		}
	}
	return float64(at) / loudness.StepsPerSecond
}

// counted is the power of a step, 0 where it does not count.
func counted(r *measure.Recording, step int) float64 {
	if r.Counted == nil {
		return r.StepPower[step]
	}
	sec := (float64(step) + 0.5) / loudness.StepsPerSecond
	for _, p := range r.Counted {
		if sec >= p[0] && sec < p[1] {
			return r.StepPower[step]
		}
	}
	return 0
}

// fullSample is the largest sample of an excerpt: two steps of 16 bits below full scale,
// so that dither and rounding stay within.
const fullSample = 1 - 2.0/(1<<15)

// Cut reads src from a moment on for so many seconds, or to its end, and scales what it
// read so that its largest sample is just below full scale: 16 bits are then used whole,
// and what lay beyond full scale is not cut. The error is src's, io.EOF where src has no
// sound there.
func Cut(ctx context.Context, src audio.Source, fromSec, sec float64) (*Excerpt, error) {
	format := src.Format()
	rate := float64(format.RateHz)
	from, frames := math.Round(fromSec*rate), math.Round(sec*rate)
	x, err := audio.ReadFrames(ctx, src, int64(from), int64(from+frames), min(2, format.Channels))
	if err != nil {
		return nil, err
	}
	e := &Excerpt{RateHz: format.RateHz, FromSec: from / rate, X: x}
	if len(e.X[0]) == 0 {
		return nil, io.EOF
	}
	e.scale()
	return e, nil
}

func (e *Excerpt) scale() {
	largest := 0.0
	for _, x := range e.X {
		for _, v := range x {
			largest = max(largest, math.Abs(v))
		}
	}
	if largest == 0 {
		return
	}
	gain := fullSample / largest
	for _, x := range e.X {
		for i := range x {
			x[i] *= gain
		}
	}
	e.ScaleDB += 20 * math.Log10(gain)
}

// Sec is how long the excerpt is.
func (e *Excerpt) Sec() float64 { return float64(len(e.X[0])) / float64(e.RateHz) }

// First returns the excerpt's first seconds; the sound is shared.
func (e *Excerpt) First(sec float64) *Excerpt {
	short := *e
	n := min(len(e.X[0]), int(math.Round(sec*float64(e.RateHz))))
	short.X = nil
	for _, x := range e.X {
		short.X = append(short.X, x[:n])
	}
	return &short
}
