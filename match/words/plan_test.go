package words

import (
	"fmt"
	"io"
	"math"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/tracks"
)

// planTexts has a plan with each kind of step, the headings and notes of others, and the labels of switches.
func planTexts(out io.Writer) {
	bell := biquad.Filter{Shape: biquad.Bell, FreqHz: 250, GainDB: -3, Q: 1}
	cut := biquad.Filter{Shape: biquad.LowCut, FreqHz: 80, CutDBPerOct: 12}
	advice := func(same bool, p *tracks.Plan) *tracks.Advice {
		return &tracks.Advice{Result: &match.Result{Comparison: &match.Comparison{SameSong: []bool{same}}}, Plan: p,
			Tracks: []tracks.Track{{Name: "bass"}, {Name: "keys"}}, Groups: []tracks.Group{{Name: "band", Tracks: []int{0, 1}}}}
	}
	faders := []tracks.Fader{{Track: 1, GainDB: -2.5, LowDB: -3.1, HighDB: -1.9, AfterDB: 1.2}}
	whole := tracks.Plan{Firm: true, BeforeDB: 1.7, WidthBeforeDB: 3.1, NarrowedDB: 1.6, RenderedDB: 0.34, Faders: faders,
		Widths: []tracks.Width{{Track: 0, SideDB: 4, LowDB: 3, HighDB: 5, AfterDB: 2.5}, {Track: 1, SideDB: -4, LowDB: -5, HighDB: -3, AfterDB: 2},
			{Track: 0, SideDB: 15, LowDB: 12, HighDB: 18, Panned: true, AfterDB: 1.5}, {Track: 1, SideDB: -15, LowDB: -18, HighDB: -12, Panned: true, AfterDB: 1}},
		Filters: []tracks.PlanFilter{{Track: 2, Filter: bell, AfterDB: 0.6}, {Track: -1, Filter: cut, AfterDB: 0.3}}}
	for _, c := range []struct {
		name string
		same bool
		plan *tracks.Plan
	}{
		{"every kind of step", true, &whole},
		{"without widths, not rendered", true, &tracks.Plan{Firm: true, Faders: faders, NarrowedDB: 1.7, RenderedDB: math.NaN()}},
		{"nothing to do", true, &tracks.Plan{Firm: true, BeforeDB: 0.12}},
		{"a hint", true, &tracks.Plan{Faders: faders, NarrowedDB: 1.7}},
		{"a hint behind an equaliser", true, &tracks.Plan{Faders: faders, NarrowedDB: 1.7, BehindEqualiser: true}},
		{"a hint beside other music", false, &tracks.Plan{Faders: faders, NarrowedDB: 1.7, BehindEqualiser: true}},
		{"no hint", true, &tracks.Plan{}}, {"no plan", true, nil},
		{"no hint beside other music", false, &tracks.Plan{}}, {"no plan beside other music", false, nil},
	} {
		a := advice(c.same, c.plan)
		fmt.Fprintf(out, "\n## a plan: %s\n%s\n", c.name, PlanHeading(a))
		for _, step := range PlanSteps(a) {
			fmt.Fprintln(out, "  "+step)
		}
		for _, note := range PlanNotes(a) {
			fmt.Fprintln(out, "    "+note)
		}
	}
	fmt.Fprintf(out, "\n## switches of a plan\n")
	a := advice(true, &whole)
	for _, s := range append(a.Switches(), tracks.Switch{Steps: []tracks.Step{whole.Filters[0], faders[0]}}) {
		fmt.Fprintln(out, Switch(a, s))
	}
}
