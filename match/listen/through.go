// Package listen applies the moves to the mix, to listen to it and to measure its loudness
// and peaks.
//
// To write a file, make a plan with [NewPlan], then call [Plan.Create] and [Plan.Write].
// [Render] passes the sound to any sink. [Impulse] computes the moves as an impulse
// response. [Cut] takes an [Excerpt] to listen to in a page, and [Excerpt.Levels] measures it
// with every subset of the moves.
//
// Memory does not grow with the length of the mix, except for excerpts. The filters have no
// latency: output and input have the same number of frames, and start together.
//
// It builds on match and spectrum/audio; match/page, the local page and the command line use
// it.
package listen

import (
	"fmt"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
)

// Through returns src with the settings' moves and trim applied to all its channels, in
// double precision. The moves are designed at src's own rate, even if they were chosen at
// another one: frequency, gain and Q stay the same, but the curves differ near half the lower
// rate, where the bilinear transform squeezes them. It returns an error if a move does not
// fit below half of src's rate. Closing the result closes src.
func Through(src audio.Source, s *document.Settings) (audio.Source, error) {
	format := src.Format()
	sections, err := sections(s, float64(format.RateHz))
	if err != nil {
		return nil, err
	}
	return &through{
		Source:  src,
		cascade: biquad.NewCascadeOf(sections, format.Channels),
		gain:    spectrum.DBToAmp(s.TrimDB),
	}, nil
}

// sections designs the moves at a rate. Its error names the move that does not fit.
func sections(s *document.Settings, rateHz float64) ([]biquad.Coeffs, error) {
	var all []biquad.Coeffs
	for i, f := range s.Moves {
		if err := f.Check(rateHz); err != nil {
			return nil, fmt.Errorf("move %d: %w", i+1, err)
		}
		all = append(all, f.Sections(rateHz)...)
	}
	return all, nil
}

// through is the [audio.Source] of [Through].
type through struct {
	audio.Source
	cascade *biquad.Cascade
	gain    float64
}

func (t *through) Read(dst [][]float64) (int, error) {
	n, err := t.Source.Read(dst)
	run(t.cascade, t.gain, audio.First(dst, n))
	return n, err
}

func run(cascade *biquad.Cascade, gain float64, block [][]float64) {
	cascade.Run(block)
	for _, x := range block {
		floats.Scale(gain, x)
	}
}
