package cli

import (
	"context"
	"io"

	"toneplumb/match"
	"toneplumb/match/page"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// soundOf cuts from the recordings what a page's player plays.
func soundOf(ctx context.Context, open opener, o matchOptions, before *match.Earlier, r *match.Result, stderr io.Writer) (*page.Sound, error) {
	shown := newProgress(stderr)
	defer shown.end()
	without := "The reference’s sound is not in this page, since it is its makers’ work."
	if o.withSound {
		without = ""
	}
	return page.Cut(ctx, func(of *measure.Recording) (audio.Source, error) {
		src, err := open(ctx, of.Path)
		if err != nil {
			return nil, err
		}
		return shown.watch(src, of.Path), nil
	}, r, before, without)
}
