package training

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
)

// Excerpt is the part of a mix in which tasks are hidden.
type Excerpt struct {
	RateHz  int
	FromSec float64
	Sound   [][]float64 // all channels, full scale ±1, faded at both ends
}

const (
	// ExcerptSec is the length of an excerpt if no part is named. Our choice: a phrase or two,
	// short enough to be heard again and again.
	ExcerptSec = 20.0
	// MaxExcerptSec is the longest part that can be named: a minute is held in memory.
	MaxExcerptSec = 60.0
	minExcerptSec = 2.0 // loudness needs some blocks of 400 ms

	excerptFadeSec = 0.05
	peakDBTP       = -1 // the largest true peak of a render: EBU R 128, from memory
)

// NewExcerpt reads a part of a recording, from fromSec to toSec. It needs a sample rate from 8 to
// 192 kHz, else the error is an *[audio.Error], whose Path the caller sets, and at least two seconds.
func NewExcerpt(ctx context.Context, src audio.Source, fromSec, toSec float64) (*Excerpt, error) {
	f := src.Format()
	if f.RateHz < 8000 || f.RateHz > 192000 {
		return nil, &audio.Error{Kind: finding.UnusableRate, Problem: fmt.Sprintf("has a sample rate of %d Hz", f.RateHz), Hint: "convert it to a rate between 8 and 192 kHz, such as 44.1 or 48 kHz"}
	}
	e := &Excerpt{RateHz: f.RateHz, FromSec: fromSec}
	from, to := int64(fromSec*float64(f.RateHz)), int64(toSec*float64(f.RateHz))
	var err error
	if e.Sound, err = audio.ReadFrames(ctx, src, from, to, f.Channels); err != nil {
		return nil, err
	}
	frames := len(e.Sound[0])
	if sec := float64(frames) / float64(f.RateHz); sec < minExcerptSec {
		return nil, fmt.Errorf("has %.1f s there; %.0f at least are needed", sec, minExcerptSec)
	}
	edge := int(excerptFadeSec * float64(f.RateHz))
	for _, x := range e.Sound {
		for i := range edge {
			g := fade(float64(i) / float64(edge))
			x[i] *= g
			x[frames-1-i] *= g
		}
	}
	return e, nil
}

// Sec returns the length of the excerpt in seconds.
func (e *Excerpt) Sec() float64 { return float64(len(e.Sound[0])) / float64(e.RateHz) }

// First returns the excerpt's first seconds, with a new fade at the end.
func (e *Excerpt) First(sec float64) *Excerpt {
	frames := min(len(e.Sound[0]), int(math.Round(sec*float64(e.RateHz))))
	if frames == len(e.Sound[0]) {
		return e
	}
	part := &Excerpt{RateHz: e.RateHz, FromSec: e.FromSec}
	edge := min(frames, int(excerptFadeSec*float64(e.RateHz)))
	for _, x := range e.Sound {
		x = slices.Clone(x[:frames])
		for i := range edge {
			x[frames-1-i] *= fade(float64(i) / float64(edge))
		}
		part.Sound = append(part.Sound, x)
	}
	return part
}

// Rendered is one sound of an exercise.
type Rendered struct {
	Sound     [][]float64
	LoudLUFS  float64
	PeakDBTP  float64
	ChangedDB float64 // gain that made it as loud as the others
}

// ErrSilent means that the excerpt holds no music to hide moves in.
var ErrSilent = errors.New("is silent there")

// Renders passes the plain excerpt, as number 0, and the excerpt through each task to sink, one by
// one; sink may keep them. All have one integrated loudness: that of the excerpt, or lower if needed
// to keep the highest true peak at −1 dBTP. The filters run twice, so that not all renders are held
// in memory. The error is [ErrSilent], names a task that does not fit the rate, or is sink's.
func (e *Excerpt) Renders(tasks [][]biquad.Filter, sink func(i int, r Rendered) error) error {
	all := append([][]biquad.Filter{nil}, tasks...)
	for i, task := range tasks {
		for _, f := range task {
			if err := f.Check(float64(e.RateHz)); err != nil {
				return fmt.Errorf("task %d cannot be heard at %d Hz: %w", i+1, e.RateHz, err)
			}
		}
	}
	target := 0.0
	loud := make([]float64, len(all))
	for i, task := range all {
		l, peak := e.measured(e.through(task, 0))
		if math.IsInf(l, -1) {
			return ErrSilent
		}
		loud[i] = l
		if i == 0 {
			target = l
		}
		target = math.Min(target, l+peakDBTP-peak)
	}
	for i, task := range all {
		r := Rendered{ChangedDB: target - loud[i]}
		r.Sound = e.through(task, r.ChangedDB)
		r.LoudLUFS, r.PeakDBTP = e.measured(r.Sound)
		if err := sink(i, r); err != nil {
			return err
		}
	}
	return nil
}

func (e *Excerpt) through(task []biquad.Filter, gainDB float64) [][]float64 {
	y := audio.NewBlock(len(e.Sound), len(e.Sound[0]))
	for c := range y {
		copy(y[c], e.Sound[c])
	}
	biquad.NewCascade(task, float64(e.RateHz), len(y)).Run(y)
	for _, x := range y {
		floats.Scale(spectrum.DBToAmp(gainDB), x)
	}
	return y
}

// fade rises from 0 at 0 to 1 at 1 as half a cosine.
func fade(x float64) float64 { return (1 - math.Cos(math.Pi*math.Min(x, 1))) / 2 }

func (e *Excerpt) measured(sound [][]float64) (lufs, dbtp float64) {
	m := loudness.NewMeter(float64(e.RateHz), min(2, len(sound)))
	p := loudness.NewPeakMeter(float64(e.RateHz), len(sound))
	m.Add(measure.FrontPair(sound))
	p.Add(sound)
	return loudness.Integrated(m.Steps()), p.TruePeakDBTP()
}
