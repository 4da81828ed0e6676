package tracks

import (
	"math/rand/v2"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum/testkit"
)

// Two tracks of the same range at once stand in each other's way; the one that needs it
// less is cut, or the one that is to stand behind.
func TestPairs(t *testing.T) {
	testkit.Skip(t, "advises on synthesised tracks")
	a, b := band(11, 2500), band(12, 2500)
	for c := range a { // both all the time, near-equal
		rng := rand.New(rand.NewPCG(uint64(c), 8))
		for i := range a[c] {
			a[c][i], b[c][i] = float32(0.03*rng.NormFloat64()), float32(0.03*rng.NormFloat64())
		}
	}
	presence := biquad.Filter{Shape: biquad.Bell, FreqHz: 3150, GainDB: 20, Q: 0.7}
	voice := a.through(presence)
	keys := b.through(presence).plus(b.through(biquad.Filter{Shape: biquad.HighCut, FreqHz: 120, CutDBPerOct: 12}).times(40)) // more below: needs it less
	stems, names := []sound{voice, keys}, []string{"voice.wav", "keys.wav"}
	mixSound := sumOf(stems)
	mix := measured(t, mixSound, "mix.wav")
	ref := measured(t, mixSound.through(excess), "ref.wav")
	for _, c := range []struct {
		name   string
		o      Options
		cut    int
		reason CutReason
	}{
		{"by need", Options{}, 1, NeedsLess},
		{"keys in front", Options{Front: []int{1}}, 0, OtherFronts},
		{"voice behind", Options{Back: []int{0}}, 0, StandsBack},
	} {
		a := advised(t, mix, mixSound, ref, names, stems, c.o)
		i := -1
		for j, p := range a.Pairs {
			if a.Zones[p.Zone].Name == "high mids" {
				i = j
			}
		}
		if i < 0 {
			t.Fatalf("%s: no pair in the high mids: %+v", c.name, a.Pairs)
		}
		p := a.Pairs[i]
		if p.Share < 0.9 || p.Cut != c.cut || p.Reason != c.reason {
			t.Errorf("%s: %+v", c.name, p)
		}
		if g := p.Filter.GainDB; p.Filter.Q > 1 || g < -3 || g > -1 || p.TrimDB < 0 {
			t.Errorf("%s: a cut of %+v, trim %.1f", c.name, p.Filter, p.TrimDB)
		}
		if n := len(c.o.Front) + len(c.o.Back); len(a.Placings) != n {
			t.Errorf("%s: %d placings, want %d", c.name, len(a.Placings), n)
		}
		// A plan that reaches the same song's trusted mix leaves no room to make, unless the person
		// wants a track elsewhere; one that does not reach it, or a hint, does.
		for name, plan := range map[string]*Plan{"reaches": {Firm: true, NarrowedDB: 0.05}, "falls short": {Firm: true, NarrowedDB: 1}, "hint": {NarrowedDB: 0.05}} {
			want := name != "reaches" || len(c.o.Front)+len(c.o.Back) > 0
			if got := len(a.session.pairs(c.o, plan)) > 0; got != want {
				t.Errorf("%s, a plan that %s: pairs %v, want %v", c.name, name, got, want)
			}
		}
		a.Plan, a.Pairs = &Plan{Firm: true}, nil
		if a.dropPlan(); a.Plan != nil || len(a.Pairs) == 0 {
			t.Errorf("%s: a dropped plan leaves %d pairs", c.name, len(a.Pairs))
		}
	}
}

// A low cut is told where a track has almost nothing of its own but the mix has it.
func TestLowCuts(t *testing.T) {
	testkit.Skip(t, "advises on synthesised tracks")
	names, stems := quartet()
	rumble := silence(2, len(stems[0][0]))
	rng := rand.New(rand.NewPCG(5, 5))
	for i := range rumble[0] {
		v := float32(0.005 * rng.NormFloat64())
		rumble[0][i], rumble[1][i] = v, v
	}
	rumble = rumble.through(biquad.Filter{Shape: biquad.HighCut, FreqHz: 60, CutDBPerOct: 24})
	clean := biquad.Filter{Shape: biquad.LowCut, FreqHz: 1000, CutDBPerOct: 24}
	stems[3] = stems[3].through(clean).times(3).plus(rumble) // bright, with rumble
	stems[0] = stems[0].times(0.05)
	for i := 1; i <= 2; i++ {
		stems[i] = stems[i].through(biquad.Filter{Shape: biquad.LowCut, FreqHz: 300, CutDBPerOct: 24}, biquad.Filter{Shape: biquad.LowCut, FreqHz: 300, CutDBPerOct: 24})
	}
	mixSound := sumOf(stems)
	mix := measured(t, mixSound, "mix.wav")
	a := advised(t, mix, mixSound, measured(t, mixSound.through(excess), "ref.wav"), names, stems, Options{})
	if !a.Plan.Reaches() || len(a.LowCuts) > 0 {
		t.Errorf("low cuts lead away from the same song's trusted mix, which the plan reaches: %+v", a.LowCuts)
	}
	a.dropPlan()
	for _, c := range a.LowCuts {
		if c.Track == 3 {
			if c.OwnShare >= 0.01 || c.MixShare < 0.023 || c.Filter.FreqHz < 30 || c.Filter.FreqHz > 400 || c.TrackLU > 0 || c.TrackLU < -0.5 {
				t.Errorf("%+v", c)
			}
			return
		}
	}
	t.Errorf("no low cut for the track with rumble: %+v", a.LowCuts)
}
