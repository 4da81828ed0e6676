package cli

import (
	"context"
	"io"
	"math"

	"toneplumb/match"
	"toneplumb/match/listen"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// confirm reads the mix a second time, through the moves and the trim, and notes what
// has become of its loudness and peaks.
func confirm(ctx context.Context, path string, r *match.Result, stderr io.Writer) error {
	src, err := audio.Open(ctx, path)
	if err != nil {
		return err
	}
	defer src.Close()
	shown := newProgress(stderr)
	defer shown.end()
	src = shown.watch(src, path)
	check, err := listen.Render(ctx, src, settingsOf(r), nil)
	if err != nil {
		return err
	}
	r.Confirmed = &match.Confirmed{
		LoudnessBeforeLUFS: check.LoudnessBeforeLUFS, LoudnessAfterLUFS: check.LoudnessAfterLUFS,
		TruePeakDBTP: check.TruePeakAfterDBTP,
	}
	return nil
}

// settingsOf returns the moves and the trim as it is printed.
func settingsOf(r *match.Result) *match.Settings {
	s := &match.Settings{RateHz: r.RateHz, TrimDB: math.Round(r.TrimDB*10) / 10}
	for _, m := range r.Moves {
		s.Moves = append(s.Moves, m.Filter)
	}
	return s
}

// leadOf reads a single track and the mix in step and says what the moves do to it.
func leadOf(ctx context.Context, o matchOptions, before *earlier, r *match.Result, stderr io.Writer) (*match.Lead, error) {
	mix, err := audio.Open(ctx, o.mix)
	if err != nil {
		return nil, err
	}
	defer mix.Close()
	track, err := audio.Open(ctx, o.lead)
	if err != nil {
		return nil, err
	}
	defer track.Close()
	shown := newProgress(stderr)
	defer shown.end()
	inMix, err := measure.InMix(ctx, shown.watch(track, o.lead), mix, o.lead)
	if err != nil {
		return nil, err
	}
	if before != nil {
		for b, g := range before.settings.PowerGain() {
			inMix[b] /= math.Max(g, 1e-6)
		}
	}
	return &match.Lead{Path: o.lead, ChangeLU: match.LeadLU(r.Mix, inMix, settingsOf(r))}, nil
}
