package tracks

import (
	"fmt"
	"math"

	"toneplumb/biquad"
	"toneplumb/match/words"
)

// PlanHeading is what stands over the steps of a plan.
func (a *Advice) PlanHeading() string {
	switch {
	case a.Plan == nil, a.Plan.Steps() == 0 && !a.Plan.Firm:
		return ""
	case a.Plan.Steps() == 0:
		return "Faders and single filters: nothing to do"
	case a.Plan.Firm:
		return "What to do, in this order"
	}
	return "Faders to listen to first: a hint, since the reference is other music"
}

// PlanSteps words a plan, one step each, in their order.
func (a *Advice) PlanSteps() []string {
	p := a.Plan
	if p == nil {
		return nil
	}
	var all []string
	before := p.BeforeDB
	step := func(what string, afterDB float64) {
		all = append(all, fmt.Sprintf("%s: %.2f → %.2f dB.", what, before, afterDB))
		before = afterDB
	}
	for _, f := range p.Faders {
		step(fmt.Sprintf("fader: %s %s dB (likely %s to %s)", a.Tracks[f.Track].Name, words.FormatGain(f.GainDB), words.FormatGain(nearer(f)), words.FormatGain(farther(f))), f.AfterDB)
	}
	for _, f := range p.Filters {
		on := "the master"
		if f.Track >= 0 {
			on = a.Tracks[f.Track].Name
		}
		step(fmt.Sprintf("filter on %s: %s", on, SettingWords(f.Filter)), f.AfterDB)
	}
	return all
}

// nearer is the end of a fader's range that is nearer to 0.
func nearer(f Fader) float64 {
	if math.Abs(f.LowDB) < math.Abs(f.HighDB) {
		return f.LowDB
	}
	return f.HighDB
}

func farther(f Fader) float64 { return f.LowDB + f.HighDB - nearer(f) }

// PlanNotes are sentences under the steps.
func (a *Advice) PlanNotes() []string {
	p := a.Plan
	switch {
	case p == nil:
		return nil
	case p.Steps() == 0 && p.Firm:
		return []string{fmt.Sprintf("No fader and no filter brings the mix %.2f dB nearer; it is %.2f dB from the reference.", worthDB, p.BeforeDB)}
	case p.Steps() == 0:
		return nil
	case !p.Firm:
		return []string{"Another arrangement can look like a fader: turn each by ear, and leave it where the song is better for it."}
	}
	all := []string{"Same song in both: the difference is balance or processing, not arrangement."}
	if !math.IsNaN(p.RenderedDB) {
		all = append(all, fmt.Sprintf("Rendered and measured, the mix with the plan is %.2f dB from the reference (computed: %.2f).", p.RenderedDB, p.AfterDB()))
	}
	return all
}

// SettingWords are the settings of a filter in one line.
func SettingWords(f biquad.Filter) string {
	shape := words.Shape(f.Shape)
	if f.Shape.IsCut() {
		return fmt.Sprintf("%s %s, %d dB/oct", shape, words.FormatHz(f.FreqHz), f.CutDBPerOct)
	}
	return fmt.Sprintf("%s %s %s dB, Q %.2f", shape, words.FormatHz(f.FreqHz), words.FormatGain(f.GainDB), f.Q)
}

// PlanReplacesMoves reports whether the plan does what the moves on the master would do: a
// filter that a fader explains is not advised.
func (a *Advice) PlanReplacesMoves() bool { return a.Plan != nil && a.Plan.Firm && a.Plan.Steps() > 0 }
