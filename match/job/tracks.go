package job

import (
	"context"
	"runtime"

	"toneplumb/match"
	"toneplumb/match/listen"
	"toneplumb/match/page"
	"toneplumb/match/tracks"
	"toneplumb/spectrum/audio"
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
	Sound      bool // whether to return the excerpts for the player of a page
}

// TracksOutcome is the outcome of a [TracksRequest].
type TracksOutcome struct {
	*tracks.Advice
	Open  multitrack.Opener // opens the tracks as they are counted: those that run late are shifted
	Sound *page.Sound       // nil if not requested
}

// Tracks reads the tracks in step with the mix, on all cores, and those that are to be moved
// once more through their moves. The reader's Watch follows the tracks alone.
func (r Reader) Tracks(ctx context.Context, q TracksRequest) (*TracksOutcome, error) {
	undo, ok := q.Previous.Inverse()
	if !ok {
		return nil, Fail("give a mix that was bounced without it", "%q holds a cut, which cannot be taken back from the mix's sound", q.Previous.Path)
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
	out := &TracksOutcome{Advice: advice, Open: multitrack.Shifted(quiet, late)}
	if q.Sound {
		out.Sound, err = Reader{Open: r.Open}.Cut(ctx, result, q.Previous, false)
	}
	return out, err
}
