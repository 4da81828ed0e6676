package listen

import (
	"context"
	"fmt"
	"math"

	"toneplumb/match/document"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/loudness"
)

// Plan says how a mix is written with settings applied. It is made by reading the mix once,
// see [NewPlan].
type Plan struct {
	Settings *document.Settings
	Format   audio.Format // of the mix
	Check    Check
	Wanted   audio.Depth // the depth asked for
	Depth    audio.Depth // the depth that is written: Float32 if Wanted would clip
	Dithered bool
}

// loudestSample is the largest magnitude that is written: +120 dB over full scale. Readers,
// including ours, take larger samples for damage.
const loudestSample = 1e6

// NewPlan reads the mix from src, with the settings applied, and plans how to write it.
// wanted is the depth to write in; nil means [DepthOf] the mix. The error is an [*audio.Error]
// about path, if the mix is silent or too short to measure; a [*TooLoud]; one that names a
// move that does not fit; src's or ctx's.
func NewPlan(ctx context.Context, src audio.Source, s *document.Settings, path string, wanted *audio.Depth) (*Plan, error) {
	p := &Plan{Settings: s, Format: src.Format(), Wanted: DepthOf(src.Format())}
	var err error
	if p.Check, err = Render(ctx, src, s, nil); err != nil {
		return nil, err
	}
	const leastSec = loudness.StepsPerBlock / 10. // a gating block, of steps of 100 ms
	sec := float64(p.Check.Frames) / float64(p.Format.RateHz)
	switch {
	case sec < leastSec:
		return nil, &audio.Error{Kind: finding.TooLittleMusic, Path: path, Problem: fmt.Sprintf("lasts %.2g s; its loudness can be measured from %g s on", sec, leastSec),
			Hint: "bounce a longer part of the mix"}
	case math.IsInf(p.Check.LoudnessBeforeLUFS, -1):
		return nil, &audio.Error{Kind: finding.NoSound, Path: path, Problem: "is silent: no 400 ms of it are louder than −70 LUFS",
			Hint: "check that the right tracks were on when it was bounced"}
	case p.Check.SamplePeak > loudestSample:
		return nil, &TooLoud{spectrum.AmpToDB(p.Check.SamplePeak)}
	}
	if wanted != nil {
		p.Wanted = *wanted
	}
	p.Depth = p.Wanted
	if p.Check.Clipped > 0 {
		p.Depth = audio.Float32
	}
	p.Dithered = p.Depth != audio.Float32 && !p.untouched()
	return p, nil
}

// TooLoud is the error for settings with which the mix exceeds the largest sample of any file.
type TooLoud struct{ PeakDBFS float64 }

func (e *TooLoud) Error() string { return "the settings lift the mix beyond what a file may hold" }

// untouched reports whether samples are written exactly as they were read, so that dither
// would only add noise.
func (p *Plan) untouched() bool {
	return len(p.Settings.Moves) == 0 && p.Settings.TrimDB == 0 && !p.Format.Lossy && DepthOf(p.Format) <= p.Depth
}

// DepthOf returns the smallest depth that holds a recording without loss; 24 bits for lossy
// formats.
func DepthOf(f audio.Format) audio.Depth {
	switch {
	case f.Lossy:
		return audio.PCM24
	case f.Bits == 0:
		return audio.Float32
	case f.Bits <= 16:
		return audio.PCM16
	case f.Bits <= 24:
		return audio.PCM24
	}
	return audio.PCM32
}

// ditherSeed is an arbitrary number; since it is fixed, the same mix gives the same bytes.
const ditherSeed = 1

// Create starts the WAV file at goal, for [Plan.Write] to fill. The error is an [*audio.Error].
func (p *Plan) Create(goal string) (*audio.Writer, error) {
	w, err := audio.CreateWAV(goal, p.Format.RateHz, p.Format.Channels, p.Depth)
	if err != nil {
		return nil, err
	}
	if err := w.Expect(p.Check.Frames); err != nil {
		w.Abort()
		return nil, err
	}
	if p.Dithered {
		w.Dither(ditherSeed)
	}
	return w, nil
}

// Write reads the mix a second time and writes it to w with the settings applied. src must be
// the same mix, newly opened; path is used in errors only. The caller closes w. The error is
// an [*audio.Error], also if the mix has changed since [NewPlan]; src's or ctx's.
func (p *Plan) Write(ctx context.Context, src audio.Source, path string, w *audio.Writer) error {
	changed := &audio.Error{Kind: finding.ChangedMeanwhile, Path: path, Problem: "was changed while it was read", Hint: "wait until its bounce is finished and run it again"}
	if src.Format() != p.Format {
		return changed
	}
	moved, err := Through(src, p.Settings)
	if err != nil {
		return err
	}
	frames := int64(0)
	err = eachBlock(ctx, moved, func(block [][]float64) error {
		frames += int64(len(block[0]))
		return w.Write(block)
	})
	if err != nil {
		return err
	}
	if frames != p.Check.Frames {
		return changed
	}
	return nil
}
