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

// Result is a [Comparison] with its moves. Everything that is shown comes from it.
type Result struct {
	*Comparison
	SolveOptions SolveOptions

	// TargetDB is how far to follow the difference, and FittedDB what the moves do, per
	// band; both have their mean over the judged bands removed, like DifferenceDB. TargetDB
	// is NaN where left out, FittedDB above half the mix's sample rate.
	TargetDB, FittedDB []float64

	Outlook Outlook // whether there are moves, and if not, why
	Moves   []Move
	Own     bool    // somebody changed the moves: they are no advice as a whole
	TrimDB  float64 // output gain of the equaliser that keeps the mix's loudness, less TrimLoweredDB

	TrimLoweredDB float64 // how far the trim is below equal loudness, to limit peaks; see Confirm

	LevelDifferenceDB float64 // mean loudness of the references less that of the mix in LU, as heard; see [loudness.HeardDB]
	DistanceBeforeDB  float64 // rms of the difference over the judged bands, mean removed
	DistanceAfterDB   float64 // the same with the moves

	// StepsDB are the distances after the best 1, 2, … moves, up to the number advised; with
	// ExactMoves it may hold only the last.
	StepsDB []float64
	Others  []Alternative // the moves at the other stages; nil before SetOthers

	Zones    []ZoneDifference
	Sides    []SideVerdict // zones in which side and mid are off by different amounts; see SetSides
	Warnings finding.List  // what to know before dialling, the most severe first

	Confirmed *Confirmed // nil if the sound was not measured again; see Confirm
	Lead      *Lead      // nil if no track was named; see SetLead
}

// Confirmed is what was measured of the whole mix, all channels, through the moves and the
// trim as printed, to 0.1 dB.
type Confirmed struct {
	LoudnessBeforeLUFS, LoudnessAfterLUFS float64
	TruePeakDBTP                          float64
}

// Move is one setting of the equaliser.
type Move struct {
	biquad.Filter
	Dial   Dial
	Why    Why
	ByHand bool // set by somebody, not advised

	// GainLowDB and GainHighDB are the likely range (95 %) of the gain if nothing of the difference
	// were arrangement: the gains, at these frequencies and widths, with which all moves together
	// follow the wanted share of the whole difference best. A gain that leaves out what may be
	// arrangement, or that was set by hand, may lie outside. NaN where unknown.
	GainLowDB, GainHighDB float64
}

// OutsideRange reports whether the gain is outside the likely range as it is printed; false if that is unknown.
func (m Move) OutsideRange() bool {
	const halfStepDB = 0.05
	return m.GainDB < m.GainLowDB-halfStepDB || m.GainDB > m.GainHighDB+halfStepDB
}

// Dial is what to set on the equaliser for a move, in the terms of its dials (Stated).
type Dial struct {
	FreqHz, GainDB, Width float64
	Stated                fit.DialTerms
}

// Solve returns the fewest moves that come near enough to the target; see [Advice] for how. A
// difference below [InaudibleDB] rms gets no move. It panics if [SolveOptions.Check] fails.
func (c *Comparison) Solve(o SolveOptions) *Result { return c.Advise(o).Result(o.MaxMoves) }

// gainsSignificant reports whether the likely range of every move's gain lies on the
// gain's side of 0 dB. It rejects pairs of moves that cancel each other, and moves of which neither
// gain is known alone. A curve that was drawn has no ranges, and rejects nothing.
func (c *Comparison) gainsSignificant(filters []biquad.Filter, t *target, o SolveOptions) bool {
	const clearDB = 0.05 // half a printed step: no range is printed that ends at 0.0
	if t.points == nil {
		return true
	}
	for i, r := range c.gainRanges(filters, t, o) {
		if g := filters[i].GainDB; !(g > 0 && r.lowDB >= clearDB || g < 0 && r.highDB <= -clearDB) {
			return false
		}
	}
	return true
}

// reducesDistance reports whether the moves together bring the mix nearer by what one move must
// be worth (moveDB), less in proportion where less than the default share is wanted.
// Below that the headline would read "2.3 → 2.2 dB", which nobody would dial.
func (c *Comparison) reducesDistance(filters []biquad.Filter, share float64) bool {
	least := moveDB * min(1, share/(defaultTowardPercent/100))
	return c.judged.Distance(c.DifferenceDB)-c.distanceAfter(filters) >= least
}

// distanceAfter returns the distance after the moves, in dB rms.
func (c *Comparison) distanceAfter(filters []biquad.Filter) float64 {
	after := c.smoother.Smooth(nil, c.response(filters))
	for b := range after {
		after[b] = c.DifferenceDB[b] - after[b]
	}
	return c.judged.Distance(after)
}

// problem returns the fit to the whole target, within the judged range.
func (c *Comparison) problem(t *target, o SolveOptions) fit.Problem {
	low, high := c.JudgedHz()
	p := fit.Problem{
		FreqHz:     spectrum.Centres(),
		TargetDB:   slices.Clone(t.db),
		Weight:     make([]float64, spectrum.BandCount),
		Smoother:   c.smoother,
		RateHz:     c.RateHz,
		Equaliser:  o.Dials().Restrict(low, high),
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

// InaudibleDB is the rms of a difference that needs no move: a copy that was
// resampled, or coded at a high rate, stays below it. Our choice.
const InaudibleDB = 0.1

// everyOther band is a point of the fit: twelve points an octave are plenty for curves
// smoothed over a third of one.
const everyOther = 2

// withoutIdle drops moves below idleDB. An equaliser without steps leaves such moves after a
// resampler or a decoder; nobody hears them.
func withoutIdle(filters []biquad.Filter) []biquad.Filter {
	const idleDB = 0.05 // our choice: far below what a dial shows
	return slices.DeleteFunc(slices.Clone(filters), func(f biquad.Filter) bool { return math.Abs(f.GainDB) < idleDB })
}

// conventionalShelves returns the moves with their shelves swapped where an engineer would dial
// them the other way round. A low-shelf cut is a high-shelf boost apart from the level,
// which the trim makes up. A low shelf belongs below turnHz, a high shelf above. There is one
// shelf of each kind, so if they disagree, the larger gain decides. It needs an equaliser whose
// two shelves have the same limits, with dials that mean the same for a boost and a cut.
func conventionalShelves(filters []biquad.Filter, e fit.Equaliser) []biquad.Filter {
	const turnHz = 800 // our choice: the middle of 40 Hz to 16 kHz
	a := e.LowShelf
	if !reflect.DeepEqual(a, e.HighShelf) || !a.GainDB.Symmetric() || a.Terms.Freq == fit.Corner || a.Terms.Law.CutFactor != 0 {
		return filters
	}
	other := slices.Clone(filters)
	misplacedDB := 0.0 // gains of misplaced shelves less those in place
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

// response returns the gain of filters in dB per band.
func (c *Comparison) response(filters []biquad.Filter) []float64 {
	return biquad.ResponseDB(nil, filters, spectrum.Centres(), c.RateHz)
}

// With returns the result of the given moves instead of searching for some. r.Outlook is
// [Advised] whatever they are.
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

// setCurves sets TargetDB, FittedDB at a level, and the distances.
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

// setMoves sets r.Moves as the equaliser's dials show them, with their reasons.
func (r *Result) setMoves(filters []biquad.Filter, t *target) {
	ranges := r.gainRanges(filters, t, r.SolveOptions)
	dials := r.SolveOptions.Dials()
	for i, f := range filters {
		a := dials.Limits(f.Shape)
		d := Dial{Stated: a.Terms}
		d.FreqHz, d.GainDB, d.Width = a.Dialled(f)
		r.Moves = append(r.Moves, Move{Filter: f, Dial: d, Why: r.why(f, filters),
			GainLowDB: ranges[i].lowDB, GainHighDB: ranges[i].highDB})
	}
}

// trim returns the loudness of the mix less that of the mix through a response in dB per band.
// It is predicted from the table, within 0.06 LU of filtering the sound (README.md, "What was
// measured").
func (c *Comparison) trim(response []float64) float64 {
	gain := make([]float64, len(response))
	for b, db := range response {
		gain[b] = spectrum.DBToPower(db)
	}
	if trim := -c.Mix.ChangeThrough(gain); !math.IsInf(trim, 0) && !math.IsNaN(trim) {
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

// Settings returns the moves and the trim rounded to 0.1 dB, as it is printed.
func (r *Result) Settings() *document.Settings {
	s := &document.Settings{RateHz: r.RateHz, TrimDB: math.Round(r.TrimDB*10) / 10}
	for _, m := range r.Moves {
		s.Moves = append(s.Moves, m.Filter)
	}
	return s
}

// decibel is [spectrum.PowerToDB] with a floor of −300 dB; such bands are left out anyway.
func decibel(power float64) float64 { return spectrum.PowerToDB(math.Max(power, 1e-30)) }
