package cli

import (
	"context"
	"io"
	"math"

	"toneplumb/match"
	"toneplumb/match/listen"
	"toneplumb/spectrum/audio"
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
	s := &match.Settings{RateHz: r.RateHz, TrimDB: math.Round(r.TrimDB*10) / 10} // as it is printed
	for _, m := range r.Moves {
		s.Moves = append(s.Moves, m.Filter)
	}
	check, err := listen.Render(ctx, src, s, nil)
	if err != nil {
		return err
	}
	r.Confirmed = &match.Confirmed{
		LoudnessBeforeLUFS: check.LoudnessBeforeLUFS, LoudnessAfterLUFS: check.LoudnessAfterLUFS,
		TruePeakDBTP: check.TruePeakAfterDBTP,
	}
	return nil
}
