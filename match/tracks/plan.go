package tracks

import (
	"cmp"
	"math"
	"slices"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// Plan is what to do in the session, with the distance after each step. Distances are in dB rms.
type Plan struct {
	Firm     bool // compared second by second with a copy of the song, and the mix is the tracks' sum; else a hint
	Faders   []Fader
	Filters  []PlanFilter
	Widths   []Width // only in a firm plan
	BeforeDB float64 // the distance without the plan
	// WidthBeforeDB is the distance of side against mid from the reference with the faders and
	// filters set, rms over third octaves; 0 where the width is not off.
	WidthBeforeDB float64
	NarrowedDB    float64 // the distance with the widths only; equal to BeforeDB without widths
	// EffectDB is the computed effect of the whole plan on the mix, per band. ShownDB is the same,
	// smoothed like the difference, with its mean over what is judged removed; NaN where left
	// out.
	EffectDB, ShownDB []float64
	RenderedDB        float64 // the measured distance with the whole plan; NaN before [Advice.Measure]
	BehindEqualiser   bool    // the mix is the tracks' sum through an equaliser on the master
}

// Fader is a gain for one track, or for a group.
type Fader struct {
	Track         int     // see [Advice.Members]
	GainDB        float64 // −12 to 12
	LowDB, HighDB float64 // likely range (95 %)
	AfterDB       float64 // the distance after this step
}

// PlanFilter is a filter on one track, a group or the master.
type PlanFilter struct {
	Track   int // −1: the master; see [Advice.Members]
	Filter  biquad.Filter
	AfterDB float64
}

// Reaches reports whether a firm plan brings the mix to the same song's trusted mix, up to
// [match.InaudibleDB].
func (p *Plan) Reaches() bool { return p != nil && p.Firm && p.AfterDB() < match.InaudibleDB }

// Steps returns the number of steps.
func (p *Plan) Steps() int { return len(p.Faders) + len(p.Filters) + len(p.Widths) }

// AfterDB returns the computed distance with the whole plan.
func (p *Plan) AfterDB() float64 {
	if n := len(p.Filters); n > 0 {
		return p.Filters[n-1].AfterDB
	}
	if n := len(p.Faders); n > 0 {
		return p.Faders[n-1].AfterDB
	}
	return p.NarrowedDB
}

// plan computes the plan; nil if the comparison allows none.
func (s *session) plan() *Plan {
	if len(s.heard()) == 0 {
		return nil
	}
	p := &Plan{RenderedDB: math.NaN(), BehindEqualiser: s.master != nil, BeforeDB: s.leaves(make([]float64, spectrum.BandCount))}
	p.NarrowedDB = p.BeforeDB
	if ref, lag, ok := s.copyOf(); ok {
		return s.planByCopy(p, ref, lag)
	}
	return s.planByOtherPart(p)
}

// onTracks reports whether a step is on a track.
func (p *Plan) onTracks() bool {
	return len(p.Faders)+len(p.Widths) > 0 || slices.ContainsFunc(p.Filters, func(f PlanFilter) bool { return f.Track >= 0 })
}

// planByCopy compares the same moments. If the mix is not the tracks' sum, or an equaliser on the master
// is known by its gains alone, faders are hints.
func (s *session) planByCopy(p *Plan, ref *measure.Recording, lagSec float64) *Plan {
	cells := s.cellsOf(ref, lagSec)
	if cells.count < leastSeconds || cells.moments < leastSeconds {
		return nil
	}
	if s.additive().firm() {
		firm := *p
		firm.Firm = true
		s.firmPlan(&firm, cells, ref, lagSec)
		if s.master == nil || !firm.onTracks() { // else what is rendered would have the tracks before the equaliser
			return &firm
		}
	}
	x := &search{s, s.scaled(cells)}
	found := x.run()
	actions := s.dialled(slices.DeleteFunc(found.actions, func(a action) bool { return a.isFilter }))
	s.fill(p, actions)
	x.ranges(p, actions)
	for i := range p.Faders {
		f := &p.Faders[i]
		half := math.Hypot(f.HighDB-f.GainDB, uncertainDB)
		f.LowDB, f.HighDB = f.GainDB-half, f.GainDB+half
	}
	s.keepSure(p)
	return p
}

// firmPlan finds faders and filters, then widths beside them and, if there are any, faders and
// filters again, since a track that is too wide is also too loud.
func (s *session) firmPlan(p *Plan, cells *cells, ref *measure.Recording, lagSec float64) {
	x := &search{s, cells}
	actions := s.dialled(x.run().actions)
	first := actions
	widths, beforeDB := s.widths(cells, ref, lagSec, actions)
	if len(widths) == 0 && len(first) > 0 {
		// A fader may have hidden most of a width, but not in each moment.
		if alone, db := s.widths(cells, ref, lagSec, nil); len(alone) > 0 && s.sidesOf(cells, ref, lagSec, first).left(nil) > hiddenDB {
			widths, beforeDB = alone, db
		}
	}
	for n := 0; n < 2 && len(widths) > 0; n++ {
		with := s.narrowed(widths)
		actions = s.dialled((&search{with, with.cellsOf(ref, lagSec)}).run().actions)
		widths, beforeDB = s.widths(cells, ref, lagSec, actions)
	}
	if len(widths) == 0 {
		actions = first
	} else {
		p.Widths, p.WidthBeforeDB = widths, beforeDB
		with := s.narrowed(widths)
		x = &search{with, with.cellsOf(ref, lagSec)}
		p.NarrowedDB = x.leaves(make([]float64, spectrum.BandCount))
	}
	x.fill(p, actions)
	x.ranges(p, actions)
}

const (
	// Behind a compressor or a room, a gain is uncertainDB wider, in quadrature, than its range, and
	// advised if it is hintRanges times that from 0 and mostHintDB at most. Chosen on songs to exclude
	// wrong hints.
	uncertainDB, hintRanges, mostHintDB = 1.5, 2.2, 8.0
)

// keepSure drops faders that are not certain enough for a hint.
func (s *session) keepSure(p *Plan) {
	var actions []action
	kept := p.Faders[:0]
	for _, f := range p.Faders {
		if size := math.Abs(f.GainDB); size >= hintRanges*(f.HighDB-f.GainDB) && size <= mostHintDB {
			actions = append(actions, action{track: f.Track, gainDB: f.GainDB})
			f.AfterDB = s.leaves(s.effectOf(actions))
			kept = append(kept, f)
		}
	}
	p.Faders = kept
	s.showPlan(p, actions)
}

// dialled rounds actions to dial steps: faders to 0.1 dB, filters to those of the default
// equaliser.
func (s *session) dialled(actions []action) []action {
	const faderSteps, gainSteps, qSteps = 10, 2, 10 // per unit; a document stores them exactly
	out := slices.Clone(actions)
	for i := range out {
		a := &out[i]
		if !a.isFilter {
			a.gainDB = math.Round(a.gainDB*faderSteps) / faderSteps
			continue
		}
		f := &a.filter
		f.FreqHz, f.GainDB = dialled(f.FreqHz, s.RateHz), math.Round(f.GainDB*gainSteps)/gainSteps
		f.Q = math.Round(f.Q*qSteps) / qSteps
	}
	return out
}

// fill sets the steps in order, faders first and larger gains first, with the distance after each.
func (s *session) fill(p *Plan, actions []action) {
	var done []action
	after := func(a action) float64 {
		done = append(done, a)
		return s.leaves(s.effectOf(done))
	}
	actions = slices.Clone(actions)
	slices.SortStableFunc(actions, func(a, b action) int {
		if a.isFilter != b.isFilter {
			if b.isFilter {
				return -1
			}
			return 1
		}
		return cmp.Compare(math.Abs(b.gainDB+b.filter.GainDB), math.Abs(a.gainDB+a.filter.GainDB))
	})
	for _, a := range actions {
		if !a.isFilter {
			p.Faders = append(p.Faders, Fader{Track: a.track, GainDB: a.gainDB, LowDB: math.NaN(), HighDB: math.NaN(), AfterDB: after(a)})
			continue
		}
		p.Filters = append(p.Filters, PlanFilter{Track: a.track, Filter: a.filter, AfterDB: after(a)})
	}
	s.showPlan(p, done)
}

// showPlan sets the plan's curves: its effect on the mix, and the same as shown.
func (s *session) showPlan(p *Plan, actions []action) {
	p.EffectDB = s.effectOf(actions)
	for b, db := range s.widthsDB {
		p.EffectDB[b] += db
	}
	p.ShownDB = s.shown(p.EffectDB)
	s.judged.Centre(p.ShownDB)
}

// plannedDB returns what a firm plan does to a track at a frequency by its fader and its filters.
func (s *session) plannedDB(plan *Plan, track int, freqHz float64) float64 {
	if plan == nil || !plan.Firm {
		return 0
	}
	db := 0.0
	for _, f := range plan.Faders {
		if slices.Contains(s.members(f.Track), track) {
			db += f.GainDB
		}
	}
	for _, f := range plan.Filters {
		if f.Track >= 0 && slices.Contains(s.members(f.Track), track) {
			db += biquad.ResponseDB(nil, []biquad.Filter{f.Filter}, []float64{freqHz}, s.RateHz)[0]
		}
	}
	return math.Round(10*db) / 10 // as it is said
}
