package match

import (
	"math"
	"reflect"
	"slices"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match/document"
	"toneplumb/spectrum"
	"toneplumb/spectrum/finding"
)

// Result is a comparison with its moves; everything that is shown comes from it.
type Result struct {
	*Comparison
	SolveOptions SolveOptions

	// TargetDB is how far the difference is to be followed and FittedDB what the
	// moves do, per band, both with their mean over the judged bands removed, like
	// DifferenceDB. TargetDB is NaN where left out, FittedDB above half the mix's
	// sample rate.
	TargetDB, FittedDB []float64

	Outlook Outlook // whether there are moves, and if not, why
	Moves   []Move
	TrimDB  float64 // for the equaliser's output: keeps the mix's loudness, or less, see TrimLoweredDB

	TrimLoweredDB float64 // by how much the trim is lower than that, for the peaks' sake; see Confirm

	LevelDifferenceDB float64 // loudness of the references (mean) less that of the mix
	DistanceBeforeDB  float64 // rms of the difference over what is judged, mean removed
	DistanceAfterDB   float64 // the same with the moves

	// StepsDB are the distances after the best 1, 2, … moves up to those advised.
	StepsDB []float64
	Other   *Alternative // what another choice of stage would do; nil if it was not asked

	Zones    []ZoneDifference
	Sides    []SideVerdict // zones in which side and mid are off by different amounts; see SetSides
	Warnings finding.List  // what to know before dialling, the heaviest first

	Confirmed *Confirmed // nil if the mix was not read again
	Lead      *Lead      // nil if no track was named
}

// Confirmed is what was measured of the whole mix, all channels, sent through the moves
// and the trim as it is printed, to 0.1 dB.
type Confirmed struct {
	LoudnessBeforeLUFS, LoudnessAfterLUFS float64
	TruePeakDBTP                          float64
}

// Move is one setting of the equaliser.
type Move struct {
	biquad.Filter
	Dial Dial
	Why  Why

	// GainLowDB and GainHighDB are the likely range (95 %) of the gain, frequency and
	// width standing: what other stretches of the same music would give, the gain
	// itself included. ReferenceSpreadDB is half the band within which other references like
	// these would have the tone where the move works. NaN where nothing is known.
	GainLowDB, GainHighDB, ReferenceSpreadDB float64
}

// Dial is what to set on the equaliser for a move, in the terms of its dials.
type Dial struct {
	FreqHz, GainDB, Width float64
	Stated                fit.DialTerms
}

// Solve returns the moves for a comparison: the fewest that come near enough to the
// target, see choose. A difference below InaudibleDB rms gets no move. It panics if an
// option fails its Check.
func (c *Comparison) Solve(o SolveOptions) *Result { return c.Advise(o).Result(o.MaxMoves) }

// gainsSignificant reports whether the likely range of every move's gain lies on the
// gain's side of 0 dB. It rejects pairs of moves that cancel each other.
func (c *Comparison) gainsSignificant(filters []biquad.Filter, t *target, o SolveOptions) bool {
	for i, r := range c.gainRanges(filters, t, o) {
		if g := filters[i].GainDB; g > 0 && r.lowDB < 0 || g < 0 && r.highDB > 0 {
			return false
		}
	}
	return true
}

// reducesDistance reports whether moves leave the distance no larger.
func (c *Comparison) reducesDistance(filters []biquad.Filter) bool {
	return c.distanceAfter(filters) <= c.judged.Distance(c.DifferenceDB)
}

// distanceAfter returns the distance with moves.
func (c *Comparison) distanceAfter(filters []biquad.Filter) float64 {
	after := c.smoother.Smooth(nil, c.response(filters))
	for b := range after {
		after[b] = c.DifferenceDB[b] - after[b]
	}
	return c.judged.Distance(after)
}

// problem states what the fit is to do to follow the whole target.
func (c *Comparison) problem(t *target, o SolveOptions) fit.Problem {
	low, high := c.JudgedHz()
	p := fit.Problem{
		FreqHz:     spectrum.Centres(),
		TargetDB:   slices.Clone(t.db),
		Weight:     make([]float64, spectrum.BandCount),
		Smoother:   c.smoother,
		RateHz:     c.RateHz,
		Equaliser:  o.Equaliser.Restrict(low, high),
		GainPrice:  t.cutPrice,
		BoostPrice: t.boostPrice,
	}
	for b, yes := range c.judged {
		if yes && b%everyOther == 0 {
			p.Weight[b] = 1
		}
	}
	return p
}

// InaudibleDB is the rms of a difference that is not worth a move: a copy that was
// resampled or coded at a high rate stays below. Our choice.
const InaudibleDB = 0.1

// everyOther band is a point of the fit: twelve an octave are plenty for curves
// smoothed over a third.
const everyOther = 2

// withoutIdle drops moves below idleDB, which an equaliser without steps leaves
// behind after a resampler or a decoder; nobody hears them.
func withoutIdle(filters []biquad.Filter) []biquad.Filter {
	const idleDB = 0.05 // our choice: far below what a dial shows
	return slices.DeleteFunc(slices.Clone(filters), func(f biquad.Filter) bool { return math.Abs(f.GainDB) < idleDB })
}

// conventionalShelves returns the moves with the shelves turned over where that is how one would
// dial them: a low shelf down is a high shelf up, but for the level, which the trim
// makes good. A low shelf belongs below turnHz, a high shelf above; of two the
// larger decides, since one of each is all there is. It needs an equaliser whose
// two shelves can be set alike.
func conventionalShelves(filters []biquad.Filter, e fit.Equaliser) []biquad.Filter {
	const turnHz = 800 // our choice: the middle of 40 Hz to 16 kHz
	if !reflect.DeepEqual(e.LowShelf, e.HighShelf) || e.LowShelf.Terms.Freq == fit.Corner {
		return filters
	}
	other := slices.Clone(filters)
	misplacedDB := 0.0 // less those in place
	for i, f := range other {
		switch {
		case f.Shape == biquad.Bell:
			continue
		case (f.Shape == biquad.LowShelf) == (f.FreqHz > turnHz):
			misplacedDB += math.Abs(f.GainDB)
		default:
			misplacedDB -= math.Abs(f.GainDB)
		}
		other[i].Shape, other[i].GainDB = biquad.LowShelf+biquad.HighShelf-f.Shape, -f.GainDB
	}
	if misplacedDB > 0 {
		return other
	}
	return filters
}

// response returns what filters do to the mix, in dB per band.
func (c *Comparison) response(filters []biquad.Filter) []float64 {
	return biquad.ResponseDB(nil, filters, spectrum.Centres(), c.RateHz)
}

// With returns the result of given moves, whoever chose them.
func (c *Comparison) With(filters []biquad.Filter, o SolveOptions) *Result {
	return c.with(filters, c.target(o.Stage), o, Advised)
}

func (c *Comparison) with(filters []biquad.Filter, t *target, o SolveOptions, outlook Outlook) *Result {
	r := &Result{Comparison: c, SolveOptions: o, Outlook: outlook}
	response := c.response(filters)
	r.TrimDB = c.trim(response)
	level, _ := c.judged.Mean(c.smoother.Smooth(nil, response), 0, math.Inf(1))
	r.setCurves(response, t.db, -level)
	r.LevelDifferenceDB = c.levelDifferenceDB()
	r.Zones = zoneDifferences(r)
	r.setMoves(filters, t)
	r.Warnings = r.findings()
	return r
}

// setCurves sets what the moves do, at a level, and the distances.
func (r *Result) setCurves(response, wanted []float64, levelDB float64) {
	r.FittedDB = make([]float64, len(response))
	r.TargetDB = make([]float64, len(response))
	after := make([]float64, len(response))
	smoothed := r.smoother.Smooth(nil, response)
	for b, db := range response {
		r.FittedDB[b] = db + levelDB
		if spectrum.CentreHz(b) > r.RateHz/2 {
			r.FittedDB[b] = math.NaN()
		}
		r.TargetDB[b] = r.SolveOptions.TowardPercent / 100 * wanted[b]
		if r.LeftOut[b].Cause != Kept {
			r.TargetDB[b] = math.NaN()
		}
		after[b] = r.DifferenceDB[b] - smoothed[b]
	}
	r.DistanceBeforeDB, r.DistanceAfterDB = r.judged.Distance(r.DifferenceDB), r.judged.Distance(after)
}

// setMoves sets the moves as the equaliser's dials show them, with their reasons.
func (r *Result) setMoves(filters []biquad.Filter, t *target) {
	ranges := r.gainRanges(filters, t, r.SolveOptions)
	for i, f := range filters {
		a := r.SolveOptions.Equaliser.Limits(f.Shape)
		d := Dial{Stated: a.Terms}
		d.FreqHz, d.GainDB, d.Width = a.Dialled(f)
		r.Moves = append(r.Moves, Move{Filter: f, Dial: d, Why: r.why(f, filters),
			GainLowDB: min(f.GainDB, ranges[i].lowDB), GainHighDB: max(f.GainDB, ranges[i].highDB), ReferenceSpreadDB: r.spreadAround(f)})
	}
}

// trim returns the loudness of the mix less that of the mix through a response in
// dB per band, predicted from the table: within 0.06 LU of filtering the sound.
func (c *Comparison) trim(response []float64) float64 {
	gain := make([]float64, len(response))
	for b, db := range response {
		gain[b] = spectrum.DBToPower(db)
	}
	unmoved := make([]float64, len(gain))
	for b := range unmoved {
		unmoved[b] = 1
	}
	if trim := c.Mix.LoudnessThrough(unmoved) - c.Mix.LoudnessThrough(gain); !math.IsInf(trim, 0) && !math.IsNaN(trim) {
		return trim
	}
	// The moves push the mix below the loudness gate; fall back to the mean spectrum.
	k := c.weighting
	before, after := 0.0, 0.0
	for b, power := range c.mixPower {
		if c.LeftOut[b].Cause == Kept {
			before += k[b] * power
			after += k[b] * power * gain[b]
		}
	}
	return decibel(before) - decibel(after)
}

// Settings returns the moves and the trim as it is printed, to 0.1 dB.
func (r *Result) Settings() *document.Settings {
	s := &document.Settings{RateHz: r.RateHz, TrimDB: math.Round(r.TrimDB*10) / 10}
	for _, m := range r.Moves {
		s.Moves = append(s.Moves, m.Filter)
	}
	return s
}
