package tracks

import (
	"slices"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure/multitrack"
)

// No cut takes back what a firm plan does: neither is a track cut that the plan turns up, nor is room
// made for one that it turns down. What the person wants in front goes before both.
func TestToCutFollowsPlan(t *testing.T) {
	const freqHz = 3150
	even, below := slices.Repeat([]float64{1}, spectrum.BandCount), slices.Repeat([]float64{1}, spectrum.BandCount)
	below[0] = 1e6
	voice, keys := &track{state: Heard, power: even}, &track{state: Heard, power: below} // the keys need the zone less
	s := &session{Table: &multitrack.Table{RateHz: 44100}, tracks: []*track{voice, keys}, groups: []Group{{Name: "both", Tracks: []int{0, 1}}}}
	zone := slices.IndexFunc(match.Zones(), func(z match.Zone) bool { return z.Name == "high mids" })
	fader := func(track int, db float64) *Plan {
		return &Plan{Firm: true, Faders: []Fader{{Track: track, GainDB: db}}}
	}
	filter := func(track int, hz, db float64) *Plan {
		return &Plan{Firm: true, Filters: []PlanFilter{{Track: track, Filter: biquad.Filter{Shape: biquad.Bell, FreqHz: hz, GainDB: db, Q: 1}}}}
	}
	hint := fader(0, -4)
	hint.Firm = false
	for _, c := range []struct {
		name   string
		o      Options
		plan   *Plan
		cut    int
		reason CutReason
	}{
		{"no plan", Options{}, nil, 1, NeedsLess},
		{"a hint", Options{}, hint, 1, NeedsLess},
		{"the voice down", Options{}, fader(0, -4), 0, PlanLowers},
		{"the voice up", Options{}, fader(0, 4), 1, PlanLiftsOther},
		{"the keys up", Options{}, fader(1, 4), 0, PlanLiftsOther},
		{"both as one", Options{}, fader(2, -4), 1, NeedsLess},
		{"a filter there", Options{}, filter(1, freqHz, 4), 0, PlanLiftsOther},
		{"both up", Options{}, &Plan{Firm: true, Faders: []Fader{{Track: 0, GainDB: 4}, {Track: 1, GainDB: 2}}}, 1, NeedsLess},
		{"the edge of a filter", Options{}, filter(0, 600, -3), 1, NeedsLess},
		{"a filter elsewhere", Options{}, filter(1, 40, 4), 1, NeedsLess},
		{"a filter on the master", Options{}, filter(-1, freqHz, 4), 1, NeedsLess},
		{"the voice down, but in front", Options{Front: []int{0}}, fader(0, -4), 1, OtherFronts},
	} {
		if first, reason := s.cutsFirst(&Pair{Zone: zone, A: 0, B: 1}, freqHz, c.o, c.plan); first != (c.cut == 0) || reason != c.reason {
			t.Errorf("%s: the first is cut: %t, reason %d; want track %d, reason %d", c.name, first, reason, c.cut, c.reason)
		}
	}
}
