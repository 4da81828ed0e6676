package job

import (
	"context"

	"toneplumb/match/document"
	"toneplumb/match/listen"
	"toneplumb/spectrum/audio"
)

// Rendered is a recording that was sent through settings.
type Rendered struct {
	*listen.Plan
	Warnings []audio.Remark // about the file that was read
	Sound    *audio.Writer  // a file to put in place or to abort; nil: not requested
}

// Render sends a recording through settings. If goal is not empty it reads the recording once more
// and writes a WAV file there, in the depth that is wanted, nil for the recording's own. Errors are
// those of [listen.NewPlan] and [listen.Plan.Write].
func (r Reader) Render(ctx context.Context, path string, s *document.Settings, goal string, wanted *audio.Depth) (*Rendered, error) {
	out := &Rendered{}
	read := func(use func(audio.Source) error) error {
		src, err := r.open(ctx, path)
		if err != nil {
			return err
		}
		defer src.Close()
		return use(src)
	}
	err := read(func(src audio.Source) (err error) {
		out.Plan, err = listen.NewPlan(ctx, src, s, path, wanted)
		out.Warnings = src.Warnings()
		return err
	})
	if err != nil || goal == "" {
		return out, err
	}
	if out.Sound, err = out.Create(goal); err != nil {
		return nil, err
	}
	if err = read(func(src audio.Source) error { return out.Write(ctx, src, path, out.Sound) }); err != nil {
		out.Sound.Abort()
	}
	return out, err
}
