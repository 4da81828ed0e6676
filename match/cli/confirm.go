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
func confirm(ctx context.Context, open opener, path string, r *match.Result, stderr io.Writer) error {
	src, err := open(ctx, path)
	if err != nil {
		return err
	}
	defer src.Close()
	shown := newProgress(stderr)
	defer shown.end()
	return listen.Confirm(ctx, shown.watch(src, path), r)
}

// leadOf reads a single track and the mix in step and says what the moves do to it.
func leadOf(ctx context.Context, open opener, o matchOptions, before *match.Earlier, r *match.Result, stderr io.Writer) (*match.Lead, error) {
	mix, err := open(ctx, o.mix)
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
		for b, g := range before.Settings.PowerGain() {
			inMix[b] /= math.Max(g, 1e-6)
		}
	}
	names := match.Naming{Plain: o.output.plain}
	return &match.Lead{Name: names.Name(nameOf(o.lead), "the single track"), ChangeLU: match.LeadLU(r.Mix, inMix, r.Settings())}, nil
}
