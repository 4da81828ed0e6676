package tracks

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure/multitrack"
)

// PlanHeading returns the heading of a plan's steps; "" without steps, unless the plan is firm.
func (a *Advice) PlanHeading() string {
	switch {
	case a.Plan == nil, a.Plan.Steps() == 0 && !a.Plan.Firm:
		return ""
	case a.Plan.Steps() == 0:
		return "Faders and single filters: nothing to do"
	case a.Plan.Firm:
		return "What to do, in this order"
	}
	switch sameSong := slices.Contains(a.Result.SameSong, true); {
	case sameSong && a.behindEqualiser():
		return "Faders to listen to first: a hint, since there is an equaliser on the master"
	case sameSong:
		return "Faders to listen to first: a hint, since the mix is more than the sum of these tracks"
	}
	return "Faders to listen to first: a hint, since the reference is other music"
}

// behindEqualiser reports whether the mix is the tracks' sum through an equaliser.
func (a *Advice) behindEqualiser() bool { return a.session != nil && a.session.master != nil }

// PlanSteps returns the steps of the plan in words, in order; nil without a plan.
func (a *Advice) PlanSteps() []string {
	p := a.Plan
	if p == nil {
		return nil
	}
	var all []string
	before, of := p.WidthBeforeDB, "stereo width "
	step := func(what string, afterDB float64) {
		all = append(all, fmt.Sprintf("%s: %s%.2f → %.2f dB apart.", what, of, before, afterDB))
		before = afterDB
	}
	for _, w := range p.Widths {
		what := "narrow"
		switch {
		case w.Panned && w.SideDB < 0:
			what = "pan nearer to the middle:"
		case w.Panned:
			what = "pan farther out:"
		case w.SideDB > 0:
			what = "widen"
		}
		step(fmt.Sprintf("%s %s, side %s dB (likely %s)", what, a.nameOf(w.Track), words.FormatGain(w.SideDB), likely(w.LowDB, w.HighDB)), w.AfterDB)
	}
	before, of = p.NarrowedDB, ""
	for _, f := range p.Faders {
		step(fmt.Sprintf("fader: %s %s dB (likely %s)", a.nameOf(f.Track), words.FormatGain(f.GainDB), likely(f.LowDB, f.HighDB)), f.AfterDB)
	}
	for _, f := range p.Filters {
		step(fmt.Sprintf("filter on %s: %s", a.nameOf(f.Track), SettingWords(f.Filter)), f.AfterDB)
	}
	return all
}

// nameOf returns the name of a plan's track, group or, below 0, the master.
func (a *Advice) nameOf(number int) string {
	switch {
	case number < 0:
		return "the master"
	case number < len(a.Tracks):
		return a.Tracks[number].Name
	}
	return a.Groups[number-len(a.Tracks)].Name
}

// likely returns a range in words, the end nearer to 0 first.
func likely(lowDB, highDB float64) string {
	if math.Abs(highDB) < math.Abs(lowDB) {
		lowDB, highDB = highDB, lowDB
	}
	return words.FormatGain(lowDB) + " to " + words.FormatGain(highDB)
}

// PlanNotes returns the sentences under the steps.
func (a *Advice) PlanNotes() []string {
	p := a.Plan
	switch {
	case (p == nil || p.Steps() == 0 && !p.Firm) && !slices.Contains(a.Result.SameSong, true):
		return []string{"The reference is other music, so nothing is said about single faders. For that, use a mix of the same song that you trust, or your ears."}
	case p == nil:
		return nil
	case p.Steps() == 0 && p.Firm:
		return []string{fmt.Sprintf("No fader and no filter brings the mix %.2f dB nearer; it is %.2f dB from the reference.", worthDB, p.BeforeDB)}
	case p.Steps() == 0:
		return nil
	case !p.Firm && slices.Contains(a.Result.SameSong, true):
		return []string{"What the mix has beside them can look like a fader: turn each by ear, and leave it where the song is better for it."}
	case !p.Firm:
		return []string{"Another arrangement can look like a fader: turn each by ear, and leave it where the song is better for it."}
	}
	all := []string{"Same song in both: the difference is balance or processing, not arrangement."}
	if len(p.Widths) > 0 {
		all = append(all, fmt.Sprintf("A side gain leaves the mono sum as it is. With the widths set, the tone is %.2f dB from the reference.", p.NarrowedDB))
	}
	if !math.IsNaN(p.RenderedDB) {
		all = append(all, fmt.Sprintf("Rendered and measured, the mix with the plan is %.2f dB from the reference (computed: %.2f).", p.RenderedDB, p.AfterDB()))
	}
	return all
}

// SettingWords returns the settings of a filter in one line.
func SettingWords(f biquad.Filter) string {
	shape := words.Shape(f.Shape)
	if f.Shape.IsCut() {
		return fmt.Sprintf("%s %s, %d dB/oct", shape, words.FormatHz(f.FreqHz), f.CutDBPerOct)
	}
	return fmt.Sprintf("%s %s %s dB, Q %.2f", shape, words.FormatHz(f.FreqHz), words.FormatGain(f.GainDB), f.Q)
}

// PlanReplacesMoves reports whether the plan takes the place of the moves on the master. A filter
// is not advised where a fader explains the difference.
func (a *Advice) PlanReplacesMoves() bool { return a.Plan != nil && a.Plan.Firm && a.Plan.Steps() > 0 }

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
