package job

import (
	"context"
	"runtime"

	"toneplumb/match"
	"toneplumb/match/document"
	"toneplumb/match/listen"
	"toneplumb/match/page"
	"toneplumb/match/tracks"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/multitrack"
)

// TracksRequest asks which single tracks carry the difference between a mix and references.
type TracksRequest struct {
	Options
	Mix        *measure.Recording
	References []*measure.Recording
	Tracks     []string // files that start with the mix and stand as they do in it
	Placing    tracks.Options
}

// TracksOutcome is the outcome of a [TracksRequest].
type TracksOutcome struct {
	*tracks.Advice

	open     multitrack.Opener // opens the tracks as they are counted: those that run late are shifted
	reader   Reader
	previous *match.PreviousRound
}

// OpenSum opens what open does and, by the name [tracks.SumName], the sum of these tracks.
func OpenSum(open Opener, of []string) Opener {
	return func(ctx context.Context, path string) (audio.Source, error) {
		if path == tracks.SumName {
			return multitrack.Sum(ctx, open, of)
		}
		return open(ctx, path)
	}
}

// Tracks reads the tracks in step with the mix, on all cores, and those that are to be moved
// once more through their moves. The reader's Watch follows the tracks alone.
func (r Reader) Tracks(ctx context.Context, q TracksRequest) (*TracksOutcome, error) {
	undo, ok := q.Previous.Inverse()
	if !ok {
		return nil, Fail(finding.DoesNotFit, "give a mix that was bounced without it", "%q holds a cut, which cannot be taken back from the mix's sound", q.Previous.Path)
	}
	result, err := Interruptible(ctx, func() (*match.Result, error) {
		c, err := Compare(q.Options, q.Mix, q.References)
		if err != nil {
			return nil, err
		}
		return c.Moves(), nil
	})
	if err != nil {
		return nil, err
	}
	mix := result.Mix
	quiet := func(ctx context.Context, path string) (audio.Source, error) {
		src, err := Reader{Open: r.Open}.open(ctx, path)
		if err == nil && path == mix.Path && undo != nil {
			return listen.Through(src, undo)
		}
		return src, err
	}
	open := func(ctx context.Context, path string) (audio.Source, error) {
		src, err := quiet(ctx, path)
		if err == nil && path != mix.Path && r.Watch != nil {
			return r.Watch(src, path), nil
		}
		return src, err
	}
	together, err := multitrack.Measure(ctx, open, mix.Path, mix.GateWeights(), q.Tracks, runtime.GOMAXPROCS(0))
	if err != nil {
		return nil, err
	}
	late, err := together.Realign(ctx, open, mix.Path, runtime.GOMAXPROCS(0))
	if err != nil {
		return nil, err
	}
	advice, err := Interruptible(ctx, func() (*tracks.Advice, error) {
		return tracks.Advise(result, together, q.Placing), nil
	})
	if err != nil {
		return nil, err
	}
	advice.Already = q.Previous != nil
	if err := advice.Measure(ctx, multitrack.Shifted(open, late), runtime.GOMAXPROCS(0)); err != nil {
		return nil, err
	}
	return &TracksOutcome{advice, multitrack.Shifted(quiet, late), Reader{Open: r.Open}, q.Previous}, nil
}

// Cut returns the excerpts for the player of a page, with the steps of the plan, if there is one, each
// as what it adds to the mix. referenceSound is as for [Reader.Cut].
func (o *TracksOutcome) Cut(ctx context.Context, referenceSound bool) (*page.Sound, error) {
	sound, err := o.reader.Cut(ctx, o.Result, o.previous, referenceSound)
	if err != nil || sound.Mix == nil || !o.PlanReplacesMoves() {
		return sound, err
	}
	for _, s := range o.Switches() {
		label := words.Switch(o.Advice, s)
		if s.Filter != nil {
			sound.Filters, sound.Labels = append(sound.Filters, *s.Filter), append(sound.Labels, label)
			continue
		}
		src, err := o.OpenSwitch(ctx, o.open, s)
		if err != nil {
			return nil, err
		}
		added, err := listen.Cut(ctx, src, sound.Mix.FromSec, page.ExcerptSec)
		src.Close()
		if err != nil {
			return nil, err
		}
		sound.Layers = append(sound.Layers, page.Layer{Label: label, Excerpt: added})
	}
	return sound, nil
}

// RenderPlan writes the mix with the plan to a WAV file, as loud as the mix. It needs a plan that
// replaces the moves. It returns what [Reader.Render] does.
func (o *TracksOutcome) RenderPlan(ctx context.Context, goal string) (*Rendered, error) {
	planned := Reader{Open: func(ctx context.Context, _ string) (audio.Source, error) { return o.Planned(ctx, o.open) }}
	return planned.Render(ctx, o.Result.Mix.Path, &document.Settings{}, goal, nil)
}
