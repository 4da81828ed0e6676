package listen

import (
	"context"
	"fmt"
	"sync"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/document"
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
	if _, err := sections(&document.Settings{Moves: moves}, rateHz); err != nil {
		return nil, err
	}
	levels := make([]Level, 1<<len(moves))
	// Block by block, so that no more than one is held for each move; the half with the
	// first move runs beside the half without it.
	half := func(on int) {
		first, rest := moves[:on], moves[min(1, len(moves)):]
		filter, out := biquad.NewCascade(first, rateHz, len(e.X)), audio.NewBlock(len(e.X), e.RateHz)
		tree := newBranch(rest, make([][][]float64, len(rest)), rateHz, len(e.X))
		block := make([][]float64, len(e.X))
		for at := 0; at < len(e.X[0]) && ctx.Err() == nil; at += e.RateHz {
			for c, x := range e.X {
				block[c] = x[at:min(at+e.RateHz, len(x))]
			}
			tree.add(filtered(filter, out, block))
		}
		tree.levels(levels, min(1, len(moves)), on)
	}
	var both sync.WaitGroup
	for on := range min(2, len(levels)) {
		both.Go(func() { half(on) })
	}
	both.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return levels, nil
}

// branch measures sound with each choice of some moves, block by block: with the first
// of them off and on, and each of both with the choices of the others. Behind the last
// move there are meters.
type branch struct {
	off, on *branch
	filter  *biquad.Cascade // of the first move
	out     [][]float64     // of the filter; branches of one move share it

	loud     *loudness.Meter
	peak     *loudness.PeakMeter
	channels int
}

// newBranch makes a branch; outs has a place for the output of each move.
func newBranch(moves []biquad.Filter, outs [][][]float64, rateHz float64, channels int) *branch {
	if len(moves) == 0 {
		return &branch{loud: loudness.NewMeter(rateHz, channels), peak: loudness.NewPeakMeter(rateHz, channels), channels: channels}
	}
	if outs[0] == nil {
		outs[0] = audio.NewBlock(channels, int(rateHz))
	}
	return &branch{
		filter: biquad.NewCascade(moves[:1], rateHz, channels), out: outs[0],
		off: newBranch(moves[1:], outs[1:], rateHz, channels), on: newBranch(moves[1:], outs[1:], rateHz, channels),
	}
}

func (b *branch) add(x [][]float64) {
	if b.loud != nil {
		b.loud.Add(x)
		b.peak.Add(x)
		return
	}
	b.off.add(x)
	b.on.add(filtered(b.filter, b.out, x))
}

// levels writes the levels of a branch from a move on, of the choice of those before.
func (b *branch) levels(to []Level, move, choice int) {
	if b.loud != nil {
		to[choice] = Level{loudness.Integrated(asHeard(b.loud.Steps(), b.channels)), b.peak.TruePeakDBTP()}
		return
	}
	b.off.levels(to, move+1, choice)
	b.on.levels(to, move+1, choice|1<<move)
}

// filtered returns a block of at most out's length through a filter.
func filtered(filter *biquad.Cascade, out, x [][]float64) [][]float64 {
	y := make([][]float64, len(x))
	for c := range x {
		y[c] = out[c][:copy(out[c], x[c])]
	}
	filter.Run(y)
	return y
}

// asHeard returns K-weighted powers per 100 ms as they are heard: a single channel comes
// out of both loudspeakers, so it counts twice.
func asHeard(steps []float64, channels int) []float64 {
	if channels == 1 {
		for i := range steps {
			steps[i] *= 2
		}
	}
	return steps
}

// CourseLUFS returns the loudness of each whole 100 ms, −Inf where it is silent.
func (e *Excerpt) CourseLUFS() []float64 {
	m := loudness.NewMeter(float64(e.RateHz), len(e.X))
	m.Add(e.X)
	all := asHeard(m.Steps(), len(e.X))
	for i, p := range all {
		all[i] = loudness.LUFS(p)
	}
	return all
}
