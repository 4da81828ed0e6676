package job

import (
	"context"
	"runtime"

	"toneplumb/match"
	"toneplumb/match/listen"
	"toneplumb/match/tracks"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure/multitrack"
)

// TracksRequest asks which single tracks carry what a result says.
type TracksRequest struct {
	Result   *match.Result
	Previous *match.PreviousRound
	Tracks   []string // files that start with the mix and stand as they do in it
	Placing  tracks.Options
}

// Tracks reads the tracks in step with the mix, on all cores, and those that are to be moved
// once more through their moves. The opener has the tracks as they are counted, those that
// run late shifted. The reader's Watch follows the tracks alone.
func (r Reader) Tracks(ctx context.Context, q TracksRequest) (*tracks.Advice, multitrack.Opener, error) {
	undo, ok := q.Previous.Inverse()
	if !ok {
		return nil, nil, Fail("give a mix that was bounced without it", "%q holds a cut, which cannot be taken back from the mix's sound", q.Previous.Path)
	}
	mix := q.Result.Mix
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
		return nil, nil, err
	}
	late, err := together.Realign(ctx, open, mix.Path, runtime.GOMAXPROCS(0))
	if err != nil {
		return nil, nil, err
	}
	advice, err := Interruptible(ctx, func() (*tracks.Advice, error) {
		return tracks.Advise(q.Result, together, q.Placing), nil
	})
	if err != nil {
		return nil, nil, err
	}
	return advice, multitrack.Shifted(quiet, late), advice.Measure(ctx, multitrack.Shifted(open, late), runtime.GOMAXPROCS(0))
}
