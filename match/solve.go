package match

import (
	"math"
	"reflect"
	"slices"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/spectrum"
	"toneplumb/spectrum/loudness"
)

// Result is a comparison with its moves; everything that is shown comes from it.
type Result struct {
	*Comparison
	Options SolveOptions

	// TargetDB is how far the difference is to be followed and FittedDB what the
	// moves and the trim do, per band, both at equal loudness like DifferenceDB.
	// TargetDB is NaN where left out.
	TargetDB, FittedDB []float64

	Moves  []Move
	TrimDB float64 // for the equaliser's output: keeps the mix's loudness

	LevelDifferenceDB float64 // loudness of the references (mean) less that of the mix
	DistanceBeforeDB  float64 // rms of the difference over what is judged, mean removed
	DistanceAfterDB   float64 // the same with the moves

	Zones    []ZoneDifference
	Warnings []string
}

// Move is one setting of the equaliser.
type Move struct {
	biquad.Filter
	Reason string
}

// Solve returns the moves for a comparison. It panics if an option fails its Check.
//
// The number of moves is the one with the least Bayesian information criterion
//
//	13·ln(r² + 0.001²) + 3·K·ln 13
//
// over the solutions with K rounded moves and the residual r in dB: a third-octave
// curve over nine octaves has about 13 independent points, a move three numbers.
// Source: G. Schwarz, Ann. Statist. 6 (1978), 461–464 (from memory); 13 points and
// the floor are our choice, measured on songs.
func (c *Comparison) Solve(o SolveOptions) *Result {
	if err := o.Check(); err != nil {
		panic("match: " + err.Error())
	}
	problem := fit.Problem{
		FreqHz:    spectrum.Centres(),
		TargetDB:  make([]float64, spectrum.BandCount),
		Weight:    make([]float64, spectrum.BandCount),
		Smoother:  c.smoother,
		RateHz:    float64(c.Mix.Format.RateHz),
		Equaliser: o.Equaliser,
	}
	for b, yes := range c.judged {
		if yes && b%everyOther == 0 {
			problem.Weight[b] = 1
		}
		problem.TargetDB[b] = o.TowardPercent / 100 * c.DifferenceDB[b]
	}
	var best fit.Solution
	least := math.Inf(1)
	for _, s := range fit.Search(problem, o.MaxMoves) {
		s = withoutIdle(problem, fit.Round(problem, s))
		if bic := criterion(s); bic < least {
			best, least = s, bic
		}
	}
	return c.with(c.lighter(best.Filters, o.Equaliser), o)
}

// everyOther band is a point of the fit: twelve an octave are plenty for curves
// smoothed over a third.
const everyOther = 2

// criterion is the one of Solve.
func criterion(s fit.Solution) float64 {
	const points, perMove, floorDB = 13, 3, 0.001
	r := s.ResidualDB
	return points*math.Log(r*r+floorDB*floorDB) + perMove*float64(len(s.Filters))*math.Log(points)
}

// withoutIdle drops moves below idleDB, which an equaliser without steps leaves
// behind after a resampler or a decoder; nobody hears them.
func withoutIdle(p fit.Problem, s fit.Solution) fit.Solution {
	const idleDB = 0.05 // our choice: half of the smallest step on any dial
	var kept []biquad.Filter
	for _, f := range s.Filters {
		if math.Abs(f.GainDB) >= idleDB {
			kept = append(kept, f)
		}
	}
	if len(kept) == len(s.Filters) {
		return s
	}
	return fit.Evaluate(p, kept)
}

// lighter returns the moves with every shelf turned over where that leaves less to
// trim: a low shelf down is a high shelf up, but for the level. It needs an
// equaliser whose two shelves can be set alike.
func (c *Comparison) lighter(filters []biquad.Filter, e fit.Equaliser) []biquad.Filter {
	if !reflect.DeepEqual(e.LowShelf, e.HighShelf) {
		return filters
	}
	turned := slices.Clone(filters)
	for i, f := range turned {
		switch f.Shape {
		case biquad.LowShelf:
			turned[i].Shape, turned[i].GainDB = biquad.HighShelf, -f.GainDB
		case biquad.HighShelf:
			turned[i].Shape, turned[i].GainDB = biquad.LowShelf, -f.GainDB
		}
	}
	trim := func(f []biquad.Filter) float64 { return math.Abs(c.trim(c.response(f))) }
	if trim(turned) < trim(filters) {
		return turned
	}
	return filters
}

// response returns what filters do to the mix, in dB per band.
func (c *Comparison) response(filters []biquad.Filter) []float64 {
	return biquad.ResponseDB(nil, filters, spectrum.Centres(), float64(c.Mix.Format.RateHz))
}

// with returns the result of given moves.
func (c *Comparison) with(filters []biquad.Filter, o SolveOptions) *Result {
	r := &Result{Comparison: c, Options: o}
	response := c.response(filters)
	r.TrimDB = c.trim(response)
	r.FittedDB = make([]float64, len(response))
	after := make([]float64, len(response))
	smoothed := c.smoother.Smooth(nil, response)
	for b, db := range response {
		r.FittedDB[b] = db + r.TrimDB
		after[b] = c.DifferenceDB[b] - smoothed[b]
	}
	r.DistanceBeforeDB, r.DistanceAfterDB = c.spread(c.DifferenceDB), c.spread(after)

	r.TargetDB = make([]float64, len(response))
	for b, d := range c.DifferenceDB {
		r.TargetDB[b] = o.TowardPercent / 100 * d
	}
	for i, ref := range c.References {
		r.LevelDifferenceDB += (ref.LoudnessLUFS - r.LevelDifferenceDB) / float64(i+1)
	}
	r.LevelDifferenceDB -= c.Mix.LoudnessLUFS
	r.Zones = zoneDifferences(r)
	for _, f := range filters {
		r.Moves = append(r.Moves, Move{Filter: f, Reason: reason(r, f)})
	}
	r.Warnings = warnings(r)
	return r
}

// trim returns the loudness of the mix less that of the mix through a response in
// dB per band, predicted from the table: within 0.06 LU of filtering the sound.
func (c *Comparison) trim(response []float64) float64 {
	gain := make([]float64, len(response))
	for b, db := range response {
		gain[b] = spectrum.DBToPower(db)
	}
	return c.Mix.LoudnessLUFS - loudness.Integrated(c.Mix.StepPowerThrough(gain))
}
