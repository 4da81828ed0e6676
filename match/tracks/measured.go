package tracks

import (
	"context"
	"math"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure/multitrack"
)

// Measure reads the mix and the tracks of each suggested move once more, the tracks
// through it, and puts what is measured in place of what was computed: the effect on the
// mix, how far that is from the move on the master, and the trims; and what is left of the
// effect with them. A move is chosen by the formula, which is quick; how it turns out is then
// known and not believed, and a move that does too little is dropped. TrimmedDB is measured with
// the computed trims, a few hundredths of a dB off.
func (a *Advice) Measure(ctx context.Context, open func(ctx context.Context, path string) (audio.Source, error), goroutines int) error {
	var moves []*Move
	var changes []multitrack.TrackFilter
	for i := range a.Moves {
		m := &a.Moves[i]
		if m.Instead == nil {
			continue
		}
		c := multitrack.TrackFilter{Filters: []biquad.Filter{m.Instead.Filter}, TrimsDB: m.Instead.TrimsDB}
		for _, k := range m.Instead.Tracks {
			c.Tracks, c.Gains = append(c.Tracks, a.Tracks[k].Path), append(c.Gains, a.Tracks[k].gain)
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
		if want := a.session.shown(m.MasterDB); x.ApartDB > leavesMost*a.session.rms(want, make([]float64, len(want))) {
			m.Instead, m.AgainstFront, m.AgainstBack = nil, false, false // it does less than the formula has it
		}
	}
	return nil
}

// changeOf returns in dB per band how a mix differs from the one that was read.
func (s *session) changeOf(power []float64) []float64 {
	db := make([]float64, len(power))
	for b, before := range s.MixPower {
		if before > tiny {
			db[b] = spectrum.PowerToDB(max(power[b], before*deepest) / before)
		}
	}
	return db
}
