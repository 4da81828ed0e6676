package tracks

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure/multitrack"
)

// Switch is one switch in a player of the plan: all steps that share a track, or a filter on the
// master.
type Switch struct {
	Label  string
	Filter *biquad.Filter // on the master; nil: on tracks
	tracks []int
}

// Switches returns the plan's switches, at most [match.MaxMoves], those on tracks first. It needs
// a Plan.
func (a *Advice) Switches() (all []Switch) {
	var masters []Switch
	add := func(number int, label string) {
		s := Switch{label, nil, a.Members(number)}
		all = slices.DeleteFunc(all, func(old Switch) bool {
			shared := slices.ContainsFunc(old.tracks, func(t int) bool { return slices.Contains(s.tracks, t) })
			if shared {
				s.merge(old)
			}
			return shared
		})
		all = append(all, s)
	}
	p := a.Plan
	for _, w := range p.Widths {
		add(w.Track, fmt.Sprintf("%s: side %s dB", a.nameOf(w.Track), words.FormatGain(w.SideDB)))
	}
	for _, f := range p.Faders {
		add(f.Track, fmt.Sprintf("%s: fader %s dB", a.nameOf(f.Track), words.FormatGain(f.GainDB)))
	}
	for _, f := range p.Filters {
		label := fmt.Sprintf("%s: %s", a.nameOf(f.Track), SettingWords(f.Filter))
		if f.Track < 0 {
			masters = append(masters, Switch{Label: label, Filter: &f.Filter})
		} else {
			add(f.Track, label)
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
	s.Label = strings.Join([]string{old.Label, s.Label}, "; ")
	s.tracks = append(slices.Clone(old.tracks), s.tracks...)
}

// OpenSwitch opens the sound that a switch on tracks adds to the mix.
func (a *Advice) OpenSwitch(ctx context.Context, open func(ctx context.Context, path string) (audio.Source, error), s Switch) (audio.Source, error) {
	return multitrack.Changes(ctx, open, a.Result.Mix.Path, a.adjustments(func(track int) bool { return slices.Contains(s.tracks, track) }))
}
