package fit

import (
	"math/rand/v2"

	"toneplumb/biquad"
)

// bestKnown returns the lowest residual in dB that a much wider search finds for
// each number of moves: Search with two to six times its effort in every respect, and
// full descents from the ten best of starts random starts.
func bestKnown(p Problem, maxMoves, starts int) []float64 {
	wide := effort{
		width: 600, starts: 200, kept: 8, tried: 12, exchanged: 6, rounds: 6,
		coarse: 12, halved: 40, full: 100, enough: 1e-7,
	}
	residuals := make([]float64, maxMoves+1)
	for k, s := range wide.search(p, maxMoves) {
		residuals[k] = s.ResidualDB
	}
	m := newModel(&p)
	for k := 1; k <= maxMoves; k++ {
		random := rand.New(rand.NewPCG(uint64(k), 20))
		var found []moveSet
		for range starts {
			c := moveSet{moves: m.randomMoves(random, k)}
			m.descend(&c, 20, 1e-4)
			found = append(found, c)
		}
		for _, c := range ranked(found, 10) {
			m.descend(&c, 200, 1e-8)
			residuals[k] = min(residuals[k], m.solution(filters(c.moves)).ResidualDB)
		}
		residuals[k] = min(residuals[k], residuals[k-1])
	}
	return residuals
}

// randomMoves returns moves anywhere inside the ranges, each shelf with even odds.
func (m *model) randomMoves(random *rand.Rand, count int) []move {
	var moves []move
	add := func(shape biquad.Shape) {
		mv := move{shape: shape}
		b := &m.boxes[shape]
		for i := range mv.at {
			mv.at[i] = b.low[i] + (b.high[i]-b.low[i])*random.Float64()
		}
		moves = append(moves, mv)
	}
	for _, shape := range []biquad.Shape{biquad.LowShelf, biquad.HighShelf} {
		if len(moves) < count && random.IntN(2) == 0 && m.limits[shape].Count > 0 {
			add(shape)
		}
	}
	for len(moves) < count {
		add(biquad.Bell)
	}
	return moves
}
