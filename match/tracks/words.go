package tracks

import (
	"fmt"
	"math"
	"slices"

	"toneplumb/biquad"
	"toneplumb/match/words"
)

// sentence words a kind of finding: for one track and, if it may be said of several at
// once, for more, with who and how much.
type sentence struct{ one, more string }

// sentences by kind. %[1]s are the tracks, %[2]s the amount with its direction.
var sentences = map[FindingKind]sentence{
	IsSilent: {"%[1]s is silent: nothing in it is louder than −70 LUFS", "%[1]s are silent: nothing in them is louder than −70 LUFS"},
	IsAbsent: {"%[1]s is not to be found in the mix: is it of this song, and does it start with the mix?",
		"%[1]s cannot be found in the mix: are they of this song, and do they start with the mix?"},
	StartsElsewhere: {"%[1]s starts elsewhere than the mix: it seems to run %[2]s, and is not counted; bounce it from the start of the mix",
		"%[1]s start elsewhere than the mix: they seem to run %[2]s, and are not counted; bounce them from the start of the mix"},
	IsTheMix: {one: "%[1]s is the whole mix: name single tracks of it"},
	IsBelowGate: {"%[1]s sounds only where the mix is too soft to count, and holds nothing of what does",
		"%[1]s sound only where the mix is too soft to count, and hold nothing of what does"},
	IsTooBrief: {"%[1]s sounds too briefly to be found in the mix, and is taken %[2]s", "%[1]s sound too briefly to be found in the mix, and are taken %[2]s"},
	IsDelayed: {"%[1]s fits better when it runs %[2]s: bounce it from the start of the mix, with its delay made good",
		"%[1]s fit better when they run %[2]s: bounce them from the start of the mix, with their delay made good"},
	IsShifted:  {"%[1]s runs %[2]s in its file, and is counted as if it ran in time", "%[1]s run %[2]s in their files, and are counted as if they ran in time"},
	IsInverted: {"%[1]s stands in the mix with its polarity inverted, and is counted so", "%[1]s stand in the mix with their polarity inverted, and are counted so"},
	HasOtherLevel: {"%[1]s stands %[2]s in the mix than it was given, and is counted so: a fader, or an equaliser on the master",
		"%[1]s stand %[2]s in the mix than they were given, and are counted so: faders, or an equaliser on the master"},
	IsLonger: {"%[1]s is %[2]s than the mix: what comes after the mix's end is not looked at",
		"%[1]s are %[2]s than the mix: what comes after the mix's end is not looked at"},
	IsShorter: {"%[1]s ends %[2]s the mix: it is silent from there", "%[1]s end %[2]s the mix: they are silent from there"},
}

// amounts words how much a finding is about, and which way that is: "1.2 ms", "earlier".
func (f *Finding) amounts() (each []string, way string) {
	format := func(amount float64) string { return "" }
	switch f.Kind {
	case StartsElsewhere:
		way = either(f.up(), "late", "early")
		format = func(sec float64) string { return "about " + lagWords(sec) }
	case IsShifted:
		way, format = either(f.up(), "late", "early"), lagWords
	case IsTooBrief:
		if math.Abs(f.Amounts[0]) < 1e-9 {
			way = either(len(f.Tracks) > 1, "as they are given", "as it is given")
			break
		}
		way = either(f.up(), "louder", "softer") + ", as the others stand"
		format = decibels
	case IsDelayed:
		way, format = either(f.up(), "earlier", "later"), lagWords
	case HasOtherLevel:
		way, format = either(f.up(), "louder", "softer"), decibels
	case IsLonger:
		way, format = "longer", wholeSeconds
	case IsShorter:
		way, format = "before", wholeSeconds
	}
	for _, amount := range f.Amounts {
		each = append(each, format(amount))
	}
	return each, way
}

func decibels(db float64) string      { return fmt.Sprintf("%.1f dB", math.Abs(db)) }
func wholeSeconds(sec float64) string { return fmt.Sprintf("%.0f s", sec) }

// Warnings words the findings, one sentence each, in their order.
func (a *Advice) Warnings() []string {
	var all []string
	for i := range a.Findings {
		all = append(all, a.words(&a.Findings[i]))
	}
	return all
}

func (a *Advice) words(f *Finding) string {
	var names []string
	for _, i := range f.Tracks {
		names = append(names, a.Tracks[i].Name)
	}
	switch f.Kind {
	case DecoderSays:
		return fmt.Sprintf("%s: %s", words.List(names), f.Text)
	case NotAmongTracks:
		return fmt.Sprintf("not among the tracks: %.0f %% of the mix, mostly around %s. A track is missing, or the master does more than an equaliser", 100*f.Amounts[0], words.FormatHz(f.FreqHz))
	case LevelMoves:
		return fmt.Sprintf("the mix's level moves by %.1f dB against the tracks' sum, as behind a compressor, which answers to every fader: bounce the mix without it for exact gains", f.Amounts[0])
	case IsDuplicate:
		verb := either(len(names) > 1, "are the same sound as %s: they are", "is the same sound as %s: it is")
		return fmt.Sprintf("%s "+verb+" counted once", words.List(names), a.Tracks[f.Other].Name)
	}
	each, way := f.amounts()
	alike := len(slices.Compact(slices.Clone(each))) == 1
	if !alike {
		for i := range names {
			names[i] += " (" + each[i] + ")"
		}
	} else if each[0] != "" {
		way = each[0] + " " + way
	}
	who, n := words.List(names), len(names)
	if n > 2 && n == len(a.Tracks) && alike {
		who = fmt.Sprintf("all %d tracks", n)
	}
	said := sentences[f.Kind]
	if n == 1 || said.more == "" {
		return fmt.Sprintf(said.one, who, way)
	}
	return fmt.Sprintf(said.more, who, way)
}

// lagWords are seconds, or milliseconds for what a plug-in takes.
func lagWords(sec float64) string {
	switch sec = math.Abs(sec); {
	case sec < 0.0001: // a few frames
		return fmt.Sprintf("%.2f ms", 1000*sec)
	case sec < 1:
		return fmt.Sprintf("%.1f ms", 1000*sec)
	}
	return fmt.Sprintf("%.0f s", sec)
}

func either(first bool, a, b string) string {
	if first {
		return a
	}
	return b
}

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
