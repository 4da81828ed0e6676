package tracks

import (
	"context"
	"math"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/multitrack"
)

// Measure reads the mix and the tracks of each suggested move again, the tracks through the move,
// and replaces the computed numbers by measured ones: the effect on the mix, its distance from the
// move on the master, the trims, and the effect that remains with them. The formula that chose a
// move is quick but approximate; a move that turns out to do too little is dropped. TrimmedDB is
// measured with the computed trims, a few hundredths of a dB off. Finally it renders and measures
// the plan, and drops it if it does not reduce the distance.
//
// The tracks are opened with open and read by at most that many goroutines. Errors are those of
// opening and decoding, and ctx's.
func (a *Advice) Measure(ctx context.Context, open func(ctx context.Context, path string) (audio.Source, error), goroutines int) error {
	var moves []*Move
	var changes []multitrack.TrackFilter
	for i := range a.Moves {
		m := &a.Moves[i]
		if m.Instead == nil || a.session.master != nil { // behind an equaliser what is computed is nearer
			continue
		}
		c := multitrack.TrackFilter{Filters: []biquad.Filter{m.Instead.Filter}, TrimsDB: m.Instead.TrimsDB}
		for _, k := range m.Instead.Tracks {
			c.Tracks, c.Gains = append(c.Tracks, a.Tracks[k].Path), append(c.Gains, a.Tracks[k].Gain())
		}
		moves, changes = append(moves, m), append(changes, c)
	}
	changed, err := a.Together.MeasureFilters(ctx, open, a.Result.Mix.Path, changes, goroutines)
	if err != nil {
		return err
	}
	for i, m := range moves {
		x := m.Instead
		x.EffectDB, x.TrimmedDB = a.session.changeOf(changed[i].MixPower), a.session.changeOf(changed[i].TrimmedPower)
		a.session.show(x, m.MasterDB)
		for j, k := range x.Tracks {
			was := loudness.Integrated(a.Together.Tracks[k].StepPower)
			if db := was - loudness.Integrated(changed[i].StepPower[j]); !math.IsNaN(db) && !math.IsInf(db, 0) {
				x.TrimsDB[j] = db
			}
		}
		if want := a.session.shown(m.MasterDB); x.ApartDB > leavesMost*a.session.judged.RMS(want) {
			m.Instead, m.AgainstFront, m.AgainstBack = nil, false, false // it does less than the formula predicts
		}
	}
	return a.measurePlan(ctx, open)
}

// measurePlan measures the mix through the plan with the mix's own options. A plan that does not
// reduce the distance by WorthDB is dropped.
func (a *Advice) measurePlan(ctx context.Context, open func(ctx context.Context, path string) (audio.Source, error)) error {
	p := a.Plan
	if p == nil || p.Steps() == 0 {
		return nil
	}
	if a.session.master != nil && p.onTracks() { // the equaliser is known by its gains only: what is rendered has the tracks before it
		if p.AfterDB() > p.BeforeDB-WorthDB {
			a.dropPlan()
		}
		return nil
	}
	src, err := a.Planned(ctx, open)
	if err != nil {
		return err
	}
	defer src.Close()
	mix := a.Result.Mix
	rendered, err := measure.Measure(ctx, src, mix.Path)
	if err != nil {
		return err
	}
	rendered.Counted = mix.Counted
	c, err := match.Compare(rendered, a.Result.References, a.Result.Options)
	if err != nil {
		return err
	}
	o := a.Result.SolveOptions
	o.MaxMoves = 0
	p.RenderedDB = c.Solve(o).DistanceBeforeDB
	if len(p.Faders)+len(p.Filters) > 0 && p.RenderedDB > p.BeforeDB-WorthDB {
		a.dropPlan()
	}
	return nil
}

// dropPlan leaves the plan out; pairs and low cuts are then those without it.
func (a *Advice) dropPlan() {
	a.Plan, a.Pairs, a.LowCuts = nil, a.session.pairs(a.options, nil), a.session.lowCuts(nil)
}

// Planned opens the mix with the whole plan applied. It has the mix's first two channels.
func (a *Advice) Planned(ctx context.Context, open func(ctx context.Context, path string) (audio.Source, error)) (audio.Source, error) {
	return multitrack.Adjusted(ctx, open, a.Result.Mix.Path, a.adjustments(func(int) bool { return true }), a.master())
}

// adjustments returns what the plan does to each of the wanted tracks.
func (a *Advice) adjustments(wanted func(track int) bool) (all []multitrack.Adjustment) {
	at := map[int]int{}
	each := func(number int, set func(x *multitrack.Adjustment)) {
		for _, track := range a.Members(number) {
			if !wanted(track) {
				continue
			}
			i, known := at[track]
			if !known {
				i = len(all)
				at[track] = i
				all = append(all, multitrack.Adjustment{Path: a.Tracks[track].Path, Gain: a.Tracks[track].Gain()})
			}
			set(&all[i])
		}
	}
	for _, f := range a.Plan.Faders {
		each(f.Track, func(x *multitrack.Adjustment) { x.GainDB += f.GainDB })
	}
	for _, w := range a.Plan.Widths {
		each(w.Track, func(x *multitrack.Adjustment) { x.SideDB = w.SideDB })
	}
	for _, f := range a.Plan.Filters {
		if f.Track >= 0 {
			each(f.Track, func(x *multitrack.Adjustment) { x.Filters = append(x.Filters, f.Filter) })
		}
	}
	return all
}

// master returns the plan's filters on the master.
func (a *Advice) master() (all []biquad.Filter) {
	for _, f := range a.Plan.Filters {
		if f.Track < 0 {
			all = append(all, f.Filter)
		}
	}
	return all
}

// changeOf returns how a mix with this power per band differs from the measured one, in dB per
// band.
func (s *session) changeOf(power []float64) []float64 {
	db := make([]float64, len(power))
	for b, before := range s.MixPower {
		if before > tiny {
			db[b] = spectrum.PowerToDB(max(power[b], before*deepest) / before)
		}
	}
	return db
}
