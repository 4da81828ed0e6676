package listen

import (
	"context"
	"fmt"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/document"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/parallel"
)

// Level holds the loudness and the true peak of a stored excerpt.
type Level struct {
	LoudnessLUFS float64 // integrated; a single channel counts as played on two loudspeakers
	TruePeakDBTP float64
}

// Levels measures an excerpt with every subset of the moves. In entry k, move i is on if bit i
// of k is set: the first entry is without moves, the last with all. Nothing is predicted:
// each subset is filtered, starting from silence, and measured. It panics for more than
// match.MaxMoves moves. It returns an error if a move does not fit below half the rate, and
// ctx's: eight moves have 256 subsets.
func (e *Excerpt) Levels(ctx context.Context, moves []biquad.Filter) ([]Level, error) {
	if len(moves) > match.MaxMoves {
		panic(fmt.Sprintf("listen: levels of the choices of %d moves", len(moves)))
	}
	rateHz := float64(e.RateHz)
	if _, err := sections(&document.Settings{Moves: moves}, rateHz); err != nil {
		return nil, err
	}
	levels := make([]Level, 1<<len(moves))
	// Block by block, so that only one block is held for each move. The subsets with the
	// first move and those without it are measured on two goroutines.
	half := func(ctx context.Context, on int) error {
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
		return ctx.Err()
	}
	if err := parallel.Each(ctx, 2, min(2, len(levels)), half); err != nil {
		return nil, err
	}
	return levels, nil
}

// LayeredLevels is like [Excerpt.Levels] with layers that may be added before the moves: their
// bits come first. Layers are as long as the excerpt and of as many channels.
func (e *Excerpt) LayeredLevels(ctx context.Context, layers []*Excerpt, moves []biquad.Filter) ([]Level, error) {
	n := len(layers)
	all := make([]Level, 1<<(n+len(moves)))
	for on := range 1 << n {
		sum := *e
		sum.X = nil
		for c, x := range e.X {
			y := slices.Clone(x)
			for i, l := range layers {
				if on>>i&1 == 0 {
					continue
				}
				n := min(len(y), len(l.X[c]))
				floats.AddScaled(y[:n], spectrum.DBToAmp(e.ScaleDB-l.ScaleDB), l.X[c][:n])
			}
			sum.X = append(sum.X, y)
		}
		levels, err := sum.Levels(ctx, moves)
		if err != nil {
			return nil, err
		}
		for choice, l := range levels {
			all[on|choice<<n] = l
		}
	}
	return all, nil
}

// branch measures sound with every subset of some moves, block by block: with the first move
// off and on, and each of these with every subset of the others. The leaves are meters.
type branch struct {
	off, on *branch
	filter  *biquad.Cascade // of the first move
	out     [][]float64     // output of the filter, shared by all branches of the same move

	loud     *loudness.Meter
	peak     *loudness.PeakMeter
	channels int
}

// newBranch returns a branch; outs has a place for the output of each move.
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

// levels writes the levels of a branch whose first move has index move; choice holds the
// bits of the moves before it.
func (b *branch) levels(to []Level, move, choice int) {
	if b.loud != nil {
		to[choice] = Level{loudness.Integrated(asHeard(b.loud.Steps(), b.channels)), b.peak.TruePeakDBTP()}
		return
	}
	b.off.levels(to, move+1, choice)
	b.on.levels(to, move+1, choice|1<<move)
}

// filtered returns a block, of at most out's length, filtered into out.
func filtered(filter *biquad.Cascade, out, x [][]float64) [][]float64 {
	y := make([][]float64, len(x))
	for c := range x {
		y[c] = out[c][:copy(out[c], x[c])]
	}
	filter.Run(y)
	return y
}

// asHeard returns K-weighted powers per 100 ms as they are heard; see [loudness.HeardDB]. It changes
// steps in place.
func asHeard(steps []float64, channels int) []float64 {
	floats.Scale(spectrum.DBToPower(loudness.HeardDB(channels)), steps)
	return steps
}

// CourseLUFS returns the loudness in LUFS of each whole 100 ms, −Inf for silence.
func (e *Excerpt) CourseLUFS() []float64 {
	m := loudness.NewMeter(float64(e.RateHz), len(e.X))
	m.Add(e.X)
	all := asHeard(m.Steps(), len(e.X))
	for i, p := range all {
		all[i] = loudness.LUFS(p)
	}
	return all
}
