// Package listen sends the mix through the moves: the sound to be heard, and what
// has become of its loudness and peaks.
//
// The path most callers need: Render once without a sink for the Check, then again
// with one that writes. Impulse gives the moves as an impulse response. Cut takes an
// Excerpt to be heard in a page, and its Levels say how loud each choice of moves makes it.
//
// Memory is flat whatever the length, but for excerpts. The filters have no latency: the first frame
// that goes in is the first that comes out, and as many come out as went in.
//
// It builds on match and spectrum/audio; match/page,
// match/internal/serve and the command line use it.
package listen

import (
	"fmt"
	"math"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/spectrum/audio"
)

// Through returns src with the settings' moves and trim on all its channels, in
// double precision. The moves are designed at src's own rate by the cookbook,
// whichever rate they were chosen at: they keep frequency, gain and Q, and differ
// near half the lower rate, where the bilinear transform squeezes them. It refuses a
// move that does not fit below half of src's rate. To close the result closes src.
func Through(src audio.Source, s *document.Settings) (audio.Source, error) {
	format := src.Format()
	sections, err := sections(s, float64(format.RateHz))
	if err != nil {
		return nil, err
	}
	return &through{
		Source:  src,
		cascade: biquad.NewCascadeOf(sections, format.Channels),
		gain:    dbToAmp(s.TrimDB),
		part:    make([][]float64, format.Channels),
	}, nil
}

// sections designs the moves at a rate. The error names the move.
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

type through struct {
	audio.Source
	cascade *biquad.Cascade
	gain    float64
	part    [][]float64
}

func (t *through) Read(dst [][]float64) (int, error) {
	n, err := t.Source.Read(dst)
	for c := range t.part {
		t.part[c] = dst[c][:n]
	}
	run(t.cascade, t.gain, t.part)
	return n, err
}

// run sends a block through filters and gain, in place.
func run(cascade *biquad.Cascade, gain float64, block [][]float64) {
	cascade.Run(block)
	for _, x := range block {
		for i := range x {
			x[i] *= gain
		}
	}
}

// dbToAmp returns the linear gain of a level in dB.
func dbToAmp(db float64) float64 { return math.Pow(10, db/20) }
