package job

import (
	"context"
	"errors"

	"toneplumb/match/listen"
	"toneplumb/match/training"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// ExerciseRequest asks for lessons in ear training, with moves hidden in an excerpt of a mix.
type ExerciseRequest struct {
	Path    string // of the mix
	Name    string // of the mix, in the answers alone
	Lessons []training.Rules
	Renders int              // with hidden moves, 1 to training.MaxTasks
	Number  uint64           // another hides other moves
	Part    measure.Passages // that is heard, one; nil: the loudest training.ExcerptSec
	Missed  []training.Kind  // to come back
}

// Exercises carries out an ExerciseRequest: the excerpt, and the answers of each lesson. An
// error that is no [audio.Error] and not the context's says why the part will not do, after
// the mix's name.
func (r Reader) Exercises(ctx context.Context, q ExerciseRequest) (*training.Excerpt, []*training.Answers, error) {
	e, err := r.Excerpt(ctx, q.Path, q.Part)
	if err != nil {
		return nil, nil, err
	}
	sum, err := audio.SHA256(ctx, q.Path)
	if err != nil {
		return nil, nil, err
	}
	heard := e.Hearing()
	var all []*training.Answers
	for _, rules := range q.Lessons {
		tasks, err := training.DrawTasks(q.Renders, training.Draw{Rules: rules, Seed: training.SeedFor(q.Number, sum), Missed: q.Missed}, heard)
		if err != nil {
			return nil, nil, err
		}
		all = append(all, &training.Answers{Mix: q.Name, Rules: rules, Seed: q.Number, RateHz: e.RateHz, FromSec: e.FromSec, Tasks: tasks})
	}
	return e, all, nil
}

// Excerpt reads the part of a mix that is heard: one, or nil for the loudest
// training.ExcerptSec. Its errors are those of [Reader.Exercises].
func (r Reader) Excerpt(ctx context.Context, path string, part measure.Passages) (*training.Excerpt, error) {
	if part == nil {
		src, err := r.open(ctx, path)
		if err != nil {
			return nil, err
		}
		from, err := listen.LoudestPart(ctx, src, training.ExcerptSec)
		src.Close()
		if err != nil {
			return nil, err
		}
		part = measure.Passages{{from, from + training.ExcerptSec}}
	}
	src, err := Reader{Open: r.Open}.open(ctx, path) // not read to its end
	if err != nil {
		return nil, err
	}
	defer src.Close()
	e, err := training.NewExcerpt(ctx, src, part[0][0], part[0][1])
	var file *audio.Error
	if errors.As(err, &file) {
		file.Path = path
	}
	return e, err
}
