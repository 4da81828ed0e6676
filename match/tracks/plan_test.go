package tracks

import (
	"context"
	"math"
	"slices"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/testkit"
)

// planned runs the plan of a mix beside a reference, rendered too.
func planned(t *testing.T, mixSound sound, ref *measure.Recording, names []string, stems []sound) *Advice {
	t.Helper()
	mix := measured(t, mixSound, "mix.wav")
	a := planOf(t, mix, ref, inStep(t, mix, mixSound, names, stems))
	if err := a.measurePlan(context.Background(), openOf(mix, mixSound, names, stems)); err != nil {
		t.Fatal(err)
	}
	a.Findings = a.session.findings()
	return a
}

// A fader that is off is found and nothing else, beside a filter on another track too; and where
// nothing is off nothing is advised. What is computed is what comes out.
func TestPlan(t *testing.T) {
	testkit.Skip(t, "plans for five faults")
	names, stems := quartet()
	// A second microphone before the second track: the two are coherent.
	names, stems = append(names, "second.wav"), append(stems, stems[1].times(0.7).plus(band(5, 700).times(0.5)))
	ref := measured(t, sumOf(stems), "ref.wav")
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
	}
}

// What breaks the sum is said, and then no gain is firm: a compressor behind it, or a track
// that was not given.
func TestPlanOfWhatIsNoSum(t *testing.T) {
	testkit.Skip(t, "plans for many faults")
	names, stems := quartet()
	f := fault{faders: map[int]float64{1: 5}}
	for _, c := range []struct {
		name  string
		after func(sound) sound
		given int
		want  FindingKind
	}{
		{"a compressor", compressed, 4, LevelMoves},
		{"a missing track", func(x sound) sound { return x }, 3, NotAmongTracks},
	} {
		a := planned(t, c.after(f.mix(stems)), measured(t, c.after(sumOf(stems)), "ref.wav"), names[:c.given], f.stems(stems)[:c.given])
		if a.Plan != nil && (a.Plan.Firm || len(a.Plan.Filters) > 0) {
			t.Errorf("%s: %+v", c.name, a.Plan)
		}
		if !slices.ContainsFunc(a.Findings, func(f Finding) bool { return f.Kind == c.want }) {
			t.Errorf("%s: %q", c.name, codesOf(a))
		}
	}
}

// An equaliser on the master is told for what it is: no track is taken for louder, though one has all its
// sound there, and it is taken back.
func TestPlanOfEqualiserOnMaster(t *testing.T) {
	testkit.Skip(t, "plans for synthesised tracks")
	const tolDB = 1 // a third octave against the peak of a bell of two thirds
	names, stems := quartet()
	bell := biquad.Filter{Shape: biquad.Bell, FreqHz: 500, GainDB: 5, Q: 1}
	f := fault{sum: []biquad.Filter{bell}}
	a := planned(t, f.mix(stems), measured(t, sumOf(stems), "ref.wav"), names, stems)
	var found faderCase
	if said := judgePlan(&found, a.Plan, f); !found.right || !a.Plan.Firm {
		t.Errorf("firm %v, %s", a.Plan.Firm, said)
	}
	if len(a.Findings) != 1 || a.Findings[0].Kind != OnMaster || math.Abs(a.Findings[0].Amounts[0]-bell.GainDB) > tolDB || math.Abs(math.Log2(a.Findings[0].FreqHz/bell.FreqHz)) > 1.0/3 {
		t.Errorf("%q", codesOf(a))
	}
}

// What a fader on the master does to all tracks is no reason for other faders: the same fault is told as without it.
// Behind an equaliser there, whose phase is not known, faders are hints that hold the truth, and nothing is rendered.
func TestPlanThroughMaster(t *testing.T) {
	testkit.Skip(t, "plans for four faults")
	names, stems := quartet()
	ref := measured(t, sumOf(stems), "ref.wav")
	bell := biquad.Filter{Shape: biquad.Bell, FreqHz: 500, GainDB: 5, Q: 1}
	for _, c := range []struct {
		name  string
		level float32
		fault fault
	}{
		{"a fader", 0.5, fault{faders: map[int]float64{1: 5, 3: -3}}},
		{"a fader a little down", 0.85, fault{faders: map[int]float64{0: -4}}},
		{"an equaliser", 1, fault{faders: map[int]float64{1: 5}, sum: []biquad.Filter{bell}}},
		{"both", 0.5, fault{faders: map[int]float64{3: -4}, sum: []biquad.Filter{bell}}},
	} {
		a := planned(t, c.fault.mix(stems).times(c.level), ref, names, c.fault.stems(stems))
		var found faderCase
		said, plain := judgePlan(&found, a.Plan, c.fault), c.fault.sum == nil
		if a.Plan == nil || found.advised != len(c.fault.faders) || found.held != found.advised {
			t.Errorf("%s: %s", c.name, said)
			continue
		}
		if a.Plan.Firm != plain || a.Plan.BehindEqualiser == plain || found.right != plain || math.IsNaN(a.Plan.RenderedDB) == plain || !plain && found.filters > 0 {
			t.Errorf("%s: firm %v, %s", c.name, a.Plan.Firm, said)
		}
	}
}

// Of another song nothing is said of faders.
func TestPlanBesideAnotherSong(t *testing.T) {
	testkit.Skip(t, "plans for synthesised tracks")
	names, stems := quartet()
	f := fault{faders: map[int]float64{1: 5}}
	var other []sound
	for i, hz := range []float64{60, 200, 3000, 9000} {
		other = append(other, band(uint64(50+i), hz))
	}
	a := planned(t, f.mix(stems), measured(t, sumOf(other), "ref.wav"), names, f.stems(stems))
	if a.Plan != nil && a.Plan.Steps() > 0 {
		t.Errorf("%+v", a.Plan)
	}
}

// sided returns a sound with its side at a gain.
func (s sound) sided(db float64) sound {
	y, g := silence(2, len(s[0])), float32(math.Pow(10, db/20))
	for i, l := range s[0] {
		m, d := (l+s[1][i])/2, g*(l-s[1][i])/2
		y[0][i], y[1][i] = m+d, m-d
	}
	return y
}

// A track that is too wide or too narrow, or panned away from where the reference has it, is
// found and nothing else, beside a fader too; what is computed is what comes out; and a filter
// or a fader alone does not concern the width.
func TestWidths(t *testing.T) {
	testkit.Skip(t, "plans for four faults")
	names, stems := quartet()
	for i := range stems {
		stems[i] = stems[i].sided(8) // as wide as music is
	}
	lead := band(9, 1200).sided(-200)
	panned := sound{sound{lead[0]}.times(1.3)[0], sound{lead[1]}.times(0.5)[0]}
	for _, c := range []struct {
		name    string
		track   int
		is, ref sound
		fault   fault
		sideDB  float64
		panned  bool
	}{
		{"narrow", 3, stems[3].sided(-5), stems[3], fault{}, 5, false},
		{"panned", 4, panned, lead, fault{}, leastSideDB, true},
		{"wide beside a fader", 2, stems[2].sided(8), stems[2], fault{faders: map[int]float64{1: 4}}, -8, false},
		{"a fader alone", 2, stems[2], stems[2], fault{faders: map[int]float64{1: 4}}, 0, false},
	} {
		names, stems := append(names[:4:4], "lead.wav"), append(stems[:4:4], lead)
		stems[c.track] = c.ref
		ref := sumOf(stems)
		stems[c.track] = c.is
		stems = c.fault.stems(stems)
		a := planned(t, sumOf(stems), measured(t, ref, "ref.wav"), names, stems)
		if a.Plan == nil || len(a.Plan.Faders) != len(c.fault.faders) || len(a.Plan.Filters) > 0 {
			t.Errorf("%s: %+v", c.name, a.Plan)
			continue
		}
		if c.sideDB == 0 {
			if len(a.Plan.Widths) > 0 {
				t.Errorf("%s: %+v", c.name, a.Plan)
			}
			continue
		}
		if len(a.Plan.Widths) != 1 {
			t.Errorf("%s: %+v", c.name, a.Plan)
			continue
		}
		w := a.Plan.Widths[0]
		if w.Track != c.track || w.Panned != c.panned || math.Abs(w.SideDB-c.sideDB) > 1 && !c.panned || w.SideDB > -12 && c.panned || !c.panned && (w.LowDB > c.sideDB || w.HighDB < c.sideDB) {
			t.Errorf("%s: %+v, want %g dB", c.name, w, c.sideDB)
		}
		if w.AfterDB > a.Plan.WidthBeforeDB/3 {
			t.Errorf("%s: %+v", c.name, a.Plan)
		}
	}
}

// A fader and a filter of a group are one step each, and a fader of one of its tracks is that
// track's.
func TestGroups(t *testing.T) {
	testkit.Skip(t, "plans for three faults")
	names, stems := quartet()
	ref := measured(t, sumOf(stems), "ref.wav")
	groups := Options{Groups: []Group{{"upper", []int{2, 3}}}}
	bell := biquad.Filter{Shape: biquad.Bell, FreqHz: 2500, GainDB: 5, Q: 0.7}
	for _, c := range []struct {
		name   string
		fault  fault
		number int
		filter bool
	}{
		{"its fader", fault{faders: map[int]float64{2: 4, 3: 4}}, 4, false},
		{"one track's fader", fault{faders: map[int]float64{3: 4}}, 3, false},
		{"its filter", fault{filters: map[int]biquad.Filter{2: bell, 3: bell}}, 4, true},
	} {
		mixSound := c.fault.mix(stems)
		mix := measured(t, mixSound, "mix.wav")
		a := planWith(t, mix, ref, inStep(t, mix, mixSound, names, c.fault.stems(stems)), groups)
		p := a.Plan
		switch {
		case p == nil || p.Steps() != 1:
			t.Errorf("%s: %+v", c.name, a.Plan)
		case c.filter:
			if len(p.Filters) != 1 || p.Filters[0].Track != c.number || math.Abs(p.Filters[0].Filter.GainDB+bell.GainDB) > filterToleranceDB {
				t.Errorf("%s: %+v", c.name, a.Plan)
			}
		case len(p.Faders) != 1 || p.Faders[0].Track != c.number || math.Abs(p.Faders[0].GainDB+4) > faderToleranceDB:
			t.Errorf("%s: %+v", c.name, a.Plan)
		}
		if err := a.measurePlan(context.Background(), openOf(mix, mixSound, names, c.fault.stems(stems))); err != nil {
			t.Fatal(err)
		}
		if a.Plan == nil || math.Abs(a.Plan.AfterDB()-a.Plan.RenderedDB) > renderToleranceDB {
			t.Errorf("%s: %+v", c.name, a.Plan)
		}
	}
}
