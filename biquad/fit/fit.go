// Package fit finds the few equaliser moves whose response comes nearest to a
// target curve. [Search] finds settings anywhere inside the equaliser's ranges; [Round]
// puts them on settings that its dials have.
//
//	solutions := fit.Search(problem, 4)  // the best with 0, 1, … 4 moves
//	moves := fit.Round(problem, solutions[3])
//
// The level of the target does not matter: a constant offset is free. The target is a
// smoothed curve, so the response is smoothed in the same way before the two are
// compared. Everything is deterministic and runs in the caller's goroutine.
//
// It builds on biquad; match uses it.
package fit

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
)

// Smoother smooths a curve of dB values on Problem.FreqHz into dst and returns it.
// It must be linear in db and leave a constant curve unchanged.
type Smoother interface {
	Smooth(dst, db []float64) []float64
}

// Problem is a target curve and the equaliser that is to be set to match it.
type Problem struct {
	FreqHz    []float64 // the grid, ascending, > 0
	TargetDB  []float64 // at FreqHz; ignored where Weight is 0
	Weight    []float64 // ≥ 0; where it is 0 the curves are not compared
	Smoother  Smoother  // smooths as the target was smoothed; nil if it was not
	RateHz    float64   // the sample rate the equaliser runs at
	Equaliser Equaliser

	// GainPrice times the sum of the squared gains is added to the mean square residual,
	// both in dB²: of two sets equally near the target, the one with smaller gains wins.
	// 0 or more.
	GainPrice float64
	// BoostPrice replaces GainPrice for gains above 0; 0 means the same price. With a
	// higher one, of two sets equally near the target, the one that cuts wins.
	BoostPrice float64

	// LeastGainDB bounds the gain of each move from below, on its side of 0; 0: any gain.
	LeastGainDB float64

	// Allow, if not nil, reports whether a set of filters may be returned. It is called
	// with sets as Search returns them, in ascending order of frequency.
	Allow func(filters []biquad.Filter) bool
}

// price returns the cost per dB² of a gain.
func (p *Problem) price(gainDB float64) float64 {
	if gainDB > 0 && p.BoostPrice > 0 {
		return p.BoostPrice
	}
	return p.GainPrice
}

// Solution is a set of moves and how near the target it comes.
type Solution struct {
	Filters    []biquad.Filter // ascending by frequency
	OffsetDB   float64         // weighted mean of the target minus the smoothed response
	ResidualDB float64         // weighted rms of that difference after the offset is removed
}

// check panics unless p is complete; an incomplete one is a bug in the caller.
func (p *Problem) check() {
	n := len(p.FreqHz)
	if len(p.TargetDB) != n || len(p.Weight) != n {
		panic(fmt.Sprintf("fit: %d frequencies, %d targets, %d weights", n, len(p.TargetDB), len(p.Weight)))
	}
	if !(p.RateHz > 0) {
		panic(fmt.Sprintf("fit: a sample rate of %g Hz", p.RateHz))
	}
	if err := p.Equaliser.Check(); err != nil {
		panic("fit: " + err.Error())
	}
	judged := false
	for i, w := range p.Weight {
		if !(w >= 0) || w > 0 && (math.IsNaN(p.TargetDB[i]) || math.IsInf(p.TargetDB[i], 0)) {
			panic(fmt.Sprintf("fit: weight %g for %g dB at %g Hz", w, p.TargetDB[i], p.FreqHz[i]))
		}
		judged = judged || w > 0
	}
	if !judged {
		panic("fit: no point is judged")
	}
}

// solution returns filters, in ascending order of frequency, with their offset and residual.
func (m *model) solution(filters []biquad.Filter) Solution {
	s := Solution{Filters: slices.Clone(filters)}
	slices.SortStableFunc(s.Filters, byFrequency)
	rest := make([]float64, len(m.judged))
	m.smoothJudged(rest, biquad.ResponseDB(nil, s.Filters, m.p.FreqHz, m.p.RateHz))
	for i, band := range m.judged {
		rest[i] = m.p.TargetDB[band] - rest[i]
	}
	s.OffsetDB = floats.Dot(m.share, rest)
	m.centre(rest)
	s.ResidualDB = math.Sqrt(floats.Dot(rest, rest))
	return s
}

func byFrequency(a, b biquad.Filter) int { return cmp.Compare(a.FreqHz, b.FreqHz) }
