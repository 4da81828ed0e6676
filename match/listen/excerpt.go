package listen

import (
	"context"
	"io"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
)

// Excerpt is a part of a recording to listen to. Of more than two channels it has the front
// pair, the channels that are judged.
type Excerpt struct {
	RateHz  int
	FromSec float64     // its start in the recording
	X       [][]float64 // [channel][frame], one or two channels, full scale ±1
	ScaleDB float64     // its level relative to the recording, see Cut
}

// Loudest returns the start, in seconds, of the loudest sec seconds of the recording, by
// K-weighted power, in whole 100 ms. Only counted passages have power. It is 0 if the
// recording is shorter, and for a profile, which has no sound.
func Loudest(r *measure.Recording, sec float64) float64 {
	power := r.StepPower
	if r.Counted != nil {
		power = slices.Clone(power)
		for i := range power {
			if !r.Counted.Contains((float64(i) + 0.5) / loudness.StepsPerSecond) {
				power[i] = 0
			}
		}
	}
	return loudest(power, sec)
}

// LoudestPart returns where the loudest sec seconds of a recording begin, by K-weighted power, on a
// grid of 100 ms; 0 if the recording is shorter. It reads src to its end.
func LoudestPart(ctx context.Context, src audio.Source, sec float64) (fromSec float64, err error) {
	m := loudness.NewMeter(float64(src.Format().RateHz), min(2, src.Format().Channels))
	err = eachBlock(ctx, src, func(block [][]float64) error {
		m.Add(measure.FrontPair(block))
		return nil
	})
	return loudest(m.Steps(), sec), err
}

// loudest is [Loudest] for powers per 100 ms.
func loudest(power []float64, sec float64) float64 {
	steps := int(math.Ceil(sec * loudness.StepsPerSecond))
	if steps >= len(power) {
		return 0
	}
	sum, most, at := 0.0, 0.0, 0
	for i, p := range power {
		sum += p
		if i >= steps {
			sum -= power[i-steps]
		}
		// The margin ignores rounding errors, so that the first of equals is kept.
		if i >= steps-1 && sum > most*(1+1e-9) {
			most, at = sum, i-steps+1
		}
	}
	return float64(at) / loudness.StepsPerSecond
}

// fullSample is the largest sample of an excerpt: two steps of 16 bits below full scale,
// which leaves room for dither and rounding.
const fullSample = 1 - 2.0/(1<<15)

// Cut reads sec seconds of src from fromSec on, or fewer if src ends sooner. It scales them so
// that the largest sample is just below full scale: 16 bits are then used fully, and nothing
// is clipped. src must not have been read before. The error is src's or ctx's, or io.EOF if
// src ends before fromSec.
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

// scale brings the largest sample to fullSample. Silence is left unchanged.
func (e *Excerpt) scale() {
	largest := 0.0
	for _, x := range e.X {
		largest = max(largest, floats.Norm(x, math.Inf(1)))
	}
	if largest == 0 {
		return
	}
	gain := fullSample / largest
	for _, x := range e.X {
		floats.Scale(gain, x)
	}
	e.ScaleDB += spectrum.AmpToDB(gain)
}

// Sec returns the length of the excerpt in seconds.
func (e *Excerpt) Sec() float64 { return float64(len(e.X[0])) / float64(e.RateHz) }

// First returns the first sec seconds of the excerpt, or all of it if it is shorter. The
// samples are shared.
func (e *Excerpt) First(sec float64) *Excerpt {
	short := *e
	short.X = audio.First(e.X, min(len(e.X[0]), int(math.Round(sec*float64(e.RateHz)))))
	return &short
}
