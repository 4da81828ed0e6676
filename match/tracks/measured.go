package tracks

import (
	"context"
	"math"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
)

// Measure reads the mix and the tracks of each suggested move once more, the tracks
// through it, and puts what is measured in place of what was computed: the effect on the
// mix, how far that is from the move on the master, and the trims. A move is chosen by the
// formula, which is quick; how it turns out is then known and not believed.
func (a *Advice) Measure(ctx context.Context, open func(ctx context.Context, path string) (audio.Source, error), goroutines int) error {
	var moves []*Move
	var changes []measure.Change
	for i := range a.Moves {
		m := &a.Moves[i]
		if m.Instead == nil {
			continue
		}
		c := measure.Change{Filters: []biquad.Filter{m.Instead.Filter}}
		for _, k := range m.Instead.Tracks {
			c.Tracks, c.Gains = append(c.Tracks, a.Tracks[k].Path), append(c.Gains, a.Tracks[k].gain)
		}
		moves, changes = append(moves, m), append(changes, c)
	}
	changed, err := a.Together.Change(ctx, open, a.Result.Mix.Path, changes, goroutines)
	if err != nil {
		return err
	}
	for i, m := range moves {
		x := m.Instead
		for b, before := range a.Together.MixPower {
			if x.EffectDB[b] = 0; before > tiny {
				x.EffectDB[b] = spectrum.PowerToDB(max(changed[i].MixPower[b], before*deepest) / before)
			}
		}
		a.session.show(x, m.MasterDB)
		for j, k := range x.Tracks {
			was := loudness.Integrated(a.Together.Tracks[k].StepPower)
			if db := was - loudness.Integrated(changed[i].StepPower[j]); !math.IsNaN(db) && !math.IsInf(db, 0) {
				x.TrimsDB[j] = db
			}
		}
	}
	return nil
}
