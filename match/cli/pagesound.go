package cli

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/listen"
	"toneplumb/match/page"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// soundOf cuts from the recordings what a page's player plays.
func soundOf(ctx context.Context, o matchOptions, before *earlier, r *match.Result, stderr io.Writer) (*page.Sound, error) {
	s := &page.Sound{}
	note := func(format string, args ...any) { s.Notes = append(s.Notes, fmt.Sprintf(format, args...)) }
	if r.Mix.StepPower == nil {
		note("The mix is a profile, which holds no sound: there is nothing to play.")
		return s, nil
	}
	undo, ok := before.undone()
	if !ok {
		note("There is nothing to play: the mix was bounced through a cut, and sound cannot be taken back through that.")
		return s, nil
	}
	shown := newProgress(stderr)
	defer shown.end()
	cut := func(of *measure.Recording, through *match.Settings, fromSec float64) (*listen.Excerpt, error) {
		src, err := audio.Open(ctx, of.Path)
		if err != nil {
			return nil, err
		}
		defer src.Close()
		src = shown.watch(src, of.Path)
		if through != nil {
			if src, err = listen.Through(src, through); err != nil {
				return nil, err
			}
		}
		e, err := listen.Cut(ctx, src, fromSec, page.ExcerptSec)
		if err == io.EOF {
			return nil, fail("run it again", "%q was changed while it was read", of.Path)
		}
		return e, err
	}
	from := listen.Loudest(r.Mix, page.ExcerptSec)
	var err error
	if s.Mix, err = cut(r.Mix, undo, from); err != nil {
		return nil, err
	}
	if before != nil {
		note("The mix is heard without the moves it was bounced through.")
	}
	s.Which = slices.IndexFunc(r.References, func(ref *measure.Recording) bool { return ref.StepPower != nil })
	switch {
	case s.Which < 0:
		note("The reference is a profile, which holds no sound.")
		return s, nil
	case !o.withSound:
		note("The reference’s sound is not in this page; --with-reference-sound puts it in.")
		return s, nil
	}
	ref := r.References[s.Which]
	refFrom := listen.Loudest(ref, page.ExcerptSec)
	const asLongSec = 1 // two masters of one song; our choice
	if r.SameSong[s.Which] && math.Abs(ref.DurationSec-r.Mix.DurationSec) <= asLongSec {
		refFrom = min(from, ref.DurationSec-s.Mix.Sec())
	}
	if s.Reference, err = cut(ref, nil, max(0, refFrom)); err != nil {
		return nil, err
	}
	if len(r.References) > 1 {
		note("Of the references %s is heard.", nameOf(ref.Path))
	}
	note("%.0f s of the reference’s sound are in this page. That recording is its makers’ work: before you pass the page on, see whether you may.", s.Reference.Sec())
	return s, nil
}

// undone returns the settings that take the earlier ones back, nil where there are none:
// with its gain turned over, a shelf or bell of the cookbook is its own inverse. A cut
// has none.
func (e *earlier) undone() (*match.Settings, bool) {
	if e == nil {
		return nil, true
	}
	back := &match.Settings{RateHz: e.settings.RateHz, TrimDB: -e.settings.TrimDB}
	for _, f := range e.settings.Moves {
		if f.Shape.IsCut() {
			return nil, false
		}
		back.Moves = append(back.Moves, biquad.Filter{Shape: f.Shape, FreqHz: f.FreqHz, GainDB: -f.GainDB, Q: f.Q})
	}
	return back, true
}
