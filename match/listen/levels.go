package listen

import (
	"context"
	"fmt"
	"sync"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/loudness"
)

// Level is how loud an excerpt is as it is stored, and how high its peaks are.
type Level struct {
	LoudnessLUFS float64 // integrated; a single channel counts as played on two loudspeakers
	TruePeakDBTP float64
}

// Levels measures an excerpt through each choice of the moves: entry k is with move i on
// where bit i of k is set, so the first is without any and the last with all. Nothing is
// predicted: each choice is filtered, with filters at rest at the start, and measured.
// It panics for more than match.MaxMoves moves and has an error where a move does not fit
// the rate, and the context's where that is done: eight moves have 256 choices.
func (e *Excerpt) Levels(ctx context.Context, moves []biquad.Filter) ([]Level, error) {
	if len(moves) > match.MaxMoves {
		panic(fmt.Sprintf("listen: levels of the choices of %d moves", len(moves)))
	}
	rateHz := float64(e.RateHz)
	if _, err := sections(&match.Settings{Moves: moves}, rateHz); err != nil {
		return nil, err
	}
	levels := make([]Level, 1<<len(moves))
	// A tree: what is through the first moves is filtered once for all choices of the
	// others. Its two halves run side by side, each with one buffer for each move.
	half := func(x [][]float64, choice int) {
		buffers := make([][][]float64, len(moves))
		var branch func(x [][]float64, move, choice int)
		branch = func(x [][]float64, move, choice int) {
			if ctx.Err() != nil {
				return
			}
			if move == len(moves) {
				levels[choice] = level(x, rateHz)
				return
			}
			branch(x, move+1, choice)
			buffers[move] = filtered(buffers[move], x, moves[move], rateHz)
			branch(buffers[move], move+1, choice|1<<move)
		}
		branch(x, min(1, len(moves)), choice)
	}
	var both sync.WaitGroup
	both.Go(func() { half(e.X, 0) })
	if len(moves) > 0 {
		both.Go(func() { half(filtered(nil, e.X, moves[0], rateHz), 1) })
	}
	both.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return levels, nil
}

// filtered returns x through a move; dst, if there is one, is written over.
func filtered(dst, x [][]float64, move biquad.Filter, rateHz float64) [][]float64 {
	if dst == nil {
		dst = audio.NewBlock(len(x), len(x[0]))
	}
	for c := range x {
		copy(dst[c], x[c])
	}
	biquad.NewCascade([]biquad.Filter{move}, rateHz, len(x)).Run(dst)
	return dst
}

// level measures sound.
func level(x [][]float64, rateHz float64) Level {
	peak := loudness.NewPeakMeter(rateHz, len(x))
	peak.Add(x)
	return Level{loudness.Integrated(steps(x, rateHz)), peak.TruePeakDBTP()}
}

// steps are the K-weighted powers per 100 ms. A single channel comes out of both
// loudspeakers, so it counts twice.
func steps(x [][]float64, rateHz float64) []float64 {
	m := loudness.NewMeter(rateHz, len(x))
	m.Add(x)
	all := m.Steps()
	if len(x) == 1 {
		for i := range all {
			all[i] *= 2
		}
	}
	return all
}

// CourseLUFS returns the loudness of each whole 100 ms, −Inf where it is silent.
func (e *Excerpt) CourseLUFS() []float64 {
	all := steps(e.X, float64(e.RateHz))
	for i, p := range all {
		all[i] = loudness.LUFS(p)
	}
	return all
}
