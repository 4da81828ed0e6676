package tracks

import (
	"context"
	"math"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum/quick"
)

// planned runs the plan of a mix beside a reference, rendered too.
func planned(t *testing.T, mixSound, ref sound, names []string, stems []sound) *Advice {
	t.Helper()
	mix := measured(t, mixSound, "mix.wav")
	a := planOf(t, mix, measured(t, ref, "ref.wav"), inStep(t, mix, mixSound, names, stems))
	if err := a.measurePlan(context.Background(), openOf(mix, mixSound, names, stems)); err != nil {
		t.Fatal(err)
	}
	a.Findings = a.session.findings()
	return a
}

// A fader that is off is found and nothing else, beside a filter on another track too; and where
// nothing is off nothing is advised. What is computed is what comes out.
func TestPlan(t *testing.T) {
	quick.Skip(t, "plans for five faults")
	names, stems := quartet()
	// A second microphone before the second track: the two are coherent.
	names, stems = append(names, "second.wav"), append(stems, stems[1].times(0.7).plus(band(5, 700).times(0.5)))
	ref := sumOf(stems)
	bell := biquad.Filter{Shape: biquad.Bell, FreqHz: 1500, GainDB: 5, Q: 1}
	for _, c := range []fault{
		{kind: "nothing"},
		{kind: "one fader", faders: map[int]float64{1: 5}},
		{kind: "two coherent tracks", faders: map[int]float64{1: 4, 4: -5}},
		{kind: "a fader and a filter", faders: map[int]float64{0: -4}, filters: map[int]biquad.Filter{2: bell}},
		{kind: "a filter on the sum", sum: []biquad.Filter{bell}},
	} {
		a := planned(t, c.mix(stems), ref, names, c.stems(stems))
		if a.Plan == nil {
			t.Fatalf("%s: no plan", c.kind)
		}
		var found faderCase
		if said := judgePlan(&found, a.Plan, c); !found.right || !a.Plan.Firm || found.held != len(c.faders) {
			t.Errorf("%s: firm %v, %s", c.kind, a.Plan.Firm, said)
		}
		if a.Plan.Steps() > 0 && math.Abs(a.Plan.AfterDB()-a.Plan.RenderedDB) > renderToleranceDB {
			t.Errorf("%s: computed %.2f dB, rendered %.2f", c.kind, a.Plan.AfterDB(), a.Plan.RenderedDB)
		}
		for _, step := range a.PlanSteps() {
			if !strings.Contains(step, " → ") {
				t.Errorf("%s: %q", c.kind, step)
			}
		}
	}
}

// What breaks the sum is said, and then no gain is firm: a compressor behind it, or a track
// that was not given.
func TestPlanOfWhatIsNoSum(t *testing.T) {
	quick.Skip(t, "plans for many faults")
	names, stems := quartet()
	f := fault{faders: map[int]float64{1: 5}}
	for _, c := range []struct {
		name  string
		after func(sound) sound
		given int
		want  FindingKind
		says  string
	}{
		{"a compressor", compressed, 4, LevelMoves, "the mix's level moves by "},
		{"a missing track", func(x sound) sound { return x }, 3, NotAmongTracks, "not among the tracks: "},
	} {
		a := planned(t, c.after(f.mix(stems)), c.after(sumOf(stems)), names[:c.given], f.stems(stems)[:c.given])
		if a.Plan != nil && (a.Plan.Firm || len(a.Plan.Filters) > 0) {
			t.Errorf("%s: %+v", c.name, a.Plan)
		}
		said := false
		for i, x := range a.Findings {
			said = said || x.Kind == c.want && strings.HasPrefix(a.Warnings()[i], c.says)
		}
		if !said {
			t.Errorf("%s: %q", c.name, a.Warnings())
		}
	}
}

// Of another song nothing is said of faders.
func TestPlanBesideAnotherSong(t *testing.T) {
	quick.Skip(t, "plans for tracks of half a minute")
	names, stems := quartet()
	f := fault{faders: map[int]float64{1: 5}}
	var other []sound
	for i, hz := range []float64{60, 200, 3000, 9000} {
		other = append(other, band(uint64(50+i), hz))
	}
	a := planned(t, f.mix(stems), sumOf(other), names, f.stems(stems))
	if a.Plan != nil && a.Plan.Steps() > 0 {
		t.Errorf("%v", a.PlanSteps())
	}
}
