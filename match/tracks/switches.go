package tracks

import (
	"context"
	"slices"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure/multitrack"
)

// PlanReplacesMoves reports whether the plan takes the place of the moves on the master. A filter
// is not advised where a fader explains the difference.
func (a *Advice) PlanReplacesMoves() bool { return a.Plan != nil && a.Plan.Firm && a.Plan.Steps() > 0 }

// Step is a [Width], a [Fader] or a [PlanFilter].
type Step interface{ number() int }

func (w Width) number() int      { return w.Track }
func (f Fader) number() int      { return f.Track }
func (f PlanFilter) number() int { return f.Track }

// Switch is one switch in a player of the plan: all steps that share a track, or a filter on the
// master.
type Switch struct {
	Steps  []Step
	Filter *biquad.Filter // on the master; nil: on tracks
	tracks []int
}

// Switches returns the plan's switches, at most [match.MaxMoves], those on tracks first. It needs
// a Plan.
func (a *Advice) Switches() (all []Switch) {
	var masters []Switch
	add := func(step Step) {
		s := Switch{[]Step{step}, nil, a.Members(step.number())}
		all = slices.DeleteFunc(all, func(old Switch) bool {
			shared := slices.ContainsFunc(old.tracks, func(t int) bool { return slices.Contains(s.tracks, t) })
			if shared {
				s.merge(old)
			}
			return shared
		})
		all = append(all, s)
	}
	for _, w := range a.Plan.Widths {
		add(w)
	}
	for _, f := range a.Plan.Faders {
		add(f)
	}
	for _, f := range a.Plan.Filters {
		if f.Track < 0 {
			masters = append(masters, Switch{Steps: []Step{f}, Filter: &f.Filter})
		} else {
			add(f)
		}
	}
	for len(all)+len(masters) > match.MaxMoves { // the number a player has
		n := len(all) - 1
		all[n].merge(all[n-1])
		all = slices.Delete(all, n-1, n)
	}
	return append(all, masters...)
}

// merge puts the steps of another switch before its own.
func (s *Switch) merge(old Switch) {
	s.Steps, s.tracks = slices.Concat(old.Steps, s.Steps), slices.Concat(old.tracks, s.tracks)
}

// OpenSwitch opens the sound that a switch on tracks adds to the mix.
func (a *Advice) OpenSwitch(ctx context.Context, open func(ctx context.Context, path string) (audio.Source, error), s Switch) (audio.Source, error) {
	return multitrack.Changes(ctx, open, a.Result.Mix.Path, a.adjustments(func(track int) bool { return slices.Contains(s.tracks, track) }))
}
