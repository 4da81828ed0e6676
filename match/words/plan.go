package words

import (
	"fmt"
	"math"
	"strings"

	"toneplumb/biquad"
	"toneplumb/match/tracks"
	"toneplumb/spectrum/measure"
)

// PlanHeading returns the heading of a plan's steps; "" without steps, unless the plan is firm.
func PlanHeading(a *tracks.Advice) string {
	switch p := a.Plan; {
	case p == nil, p.Steps() == 0 && !p.Firm:
		return ""
	case p.Steps() == 0:
		return "Faders and single filters: nothing to do"
	case p.Firm:
		return "What to do, in this order"
	case a.SameSong() && p.BehindEqualiser:
		return "Faders to listen to first: a hint, since there is an equaliser on the master"
	case a.SameSong():
		return "Faders to listen to first: a hint, since the mix is more than the sum of these tracks"
	}
	return "Faders to listen to first: a hint, since the reference is other music"
}

// PlanSteps returns the steps of the plan, in order; nil without a plan.
func PlanSteps(a *tracks.Advice) []string {
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
		step(fmt.Sprintf("%s %s, side %s dB (likely %s)", what, trackName(a, w.Track), FormatGain(w.SideDB), likely(w.LowDB, w.HighDB)), w.AfterDB)
	}
	before, of = p.NarrowedDB, ""
	for _, f := range p.Faders {
		step(fmt.Sprintf("fader: %s %s dB (likely %s)", trackName(a, f.Track), FormatGain(f.GainDB), likely(f.LowDB, f.HighDB)), f.AfterDB)
	}
	for _, f := range p.Filters {
		step(fmt.Sprintf("filter on %s: %s", trackName(a, f.Track), Setting(f.Filter)), f.AfterDB)
	}
	return all
}

// trackName returns the name of a track, a group or, below 0, the master, safe to print.
func trackName(a *tracks.Advice, number int) string {
	switch {
	case number < 0:
		return "the master"
	case number < len(a.Tracks):
		return measure.Printable(a.Tracks[number].Name)
	}
	return measure.Printable(a.Groups[number-len(a.Tracks)].Name)
}

// likely returns a range, the end nearer to 0 first.
func likely(lowDB, highDB float64) string {
	if math.Abs(highDB) < math.Abs(lowDB) {
		lowDB, highDB = highDB, lowDB
	}
	return FormatGain(lowDB) + " to " + FormatGain(highDB)
}

// PlanNotes returns the sentences under the steps.
func PlanNotes(a *tracks.Advice) []string {
	p := a.Plan
	switch {
	case (p == nil || p.Steps() == 0 && !p.Firm) && !a.SameSong():
		return []string{"The reference is other music, so nothing is said about single faders. For that, use a mix of the same song that you trust, or your ears."}
	case p == nil:
		return nil
	case p.Steps() == 0 && p.Firm:
		return []string{fmt.Sprintf("No fader and no filter brings the mix %.2f dB nearer; it is %.2f dB from the reference.", tracks.WorthDB, p.BeforeDB)}
	case p.Steps() == 0:
		return nil
	case !p.Firm && a.SameSong():
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

// Setting returns a filter in one line: "bell 250 Hz −3.0 dB, Q 1.00".
func Setting(f biquad.Filter) string {
	if f.Shape.IsCut() {
		return fmt.Sprintf("%s %s, %d dB/oct", Shape(f.Shape), FormatHz(f.FreqHz), f.CutDBPerOct)
	}
	return fmt.Sprintf("%s %s %s dB, Q %.2f", Shape(f.Shape), FormatHz(f.FreqHz), FormatGain(f.GainDB), f.Q)
}

// Switch labels a switch of a plan's player with its steps.
func Switch(a *tracks.Advice, s tracks.Switch) string {
	var all []string
	for _, step := range s.Steps {
		switch x := step.(type) {
		case tracks.Width:
			all = append(all, fmt.Sprintf("%s: side %s dB", trackName(a, x.Track), FormatGain(x.SideDB)))
		case tracks.Fader:
			all = append(all, fmt.Sprintf("%s: fader %s dB", trackName(a, x.Track), FormatGain(x.GainDB)))
		case tracks.PlanFilter:
			all = append(all, trackName(a, x.Track)+": "+Setting(x.Filter))
		}
	}
	return strings.Join(all, "; ")
}
