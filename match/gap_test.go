package match

import (
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// What becomes of the largest gap: each cause where it is the heaviest, none where no zone is
// worth naming.
func TestGap(t *testing.T) {
	elsewhere := []Move{{Filter: biquad.Filter{Shape: biquad.Bell, FreqHz: 8000, GainDB: 3, Q: 1}}}
	for _, c := range []struct {
		name                                 string
		differenceDB, halfDB, spreadDB, tone float64
		outlook                              Outlook
		moves                                []Move
		want                                 GapCause
	}{
		{name: "chance", differenceDB: -7, halfDB: 8, outlook: NothingToDo, want: Uncertain},
		{name: "others differ too", differenceDB: -7, halfDB: 1, spreadDB: 7.5, outlook: NothingToDo, want: WithinSpread},
		{name: "nothing is clearly tone", differenceDB: -7, halfDB: 1, outlook: NothingToDo, want: NoneSought},
		{name: "too unlike, however uncertain", differenceDB: -7, halfDB: 8, outlook: TooUnlike, want: NoneSought},
		{name: "arrangement", differenceDB: -7, halfDB: 1, tone: -1, moves: elsewhere, want: NotTonal},
		{name: "no move bends there", differenceDB: -7, halfDB: 1, tone: -7, moves: elsewhere, want: NotBent},
	} {
		r := subOff(c.differenceDB, c.tone)
		r.RateHz = 44100
		r.Outlook, r.Moves = c.outlook, c.moves
		r.Zones[0].HalfDB = c.halfDB
		for b := range r.ReferenceSpreadDB {
			r.ReferenceSpreadDB[b] = c.spreadDB
		}
		if g := r.Gap(); g == nil || g.Name != "sub" || g.Cause != c.want {
			t.Errorf("%s: %+v, want cause %d", c.name, g, c.want)
		}
	}
	r := subOff(4, 4)
	r.RateHz, r.Moves = 44100, elsewhere
	r.Zones[0].FittedDB = 1.2 // as cuts elsewhere lift it
	if g := r.Gap(); g.Cause != Elsewhere || g.Move != 0 {
		t.Errorf("lifted by cuts elsewhere: %+v", g)
	}
	if g := subOff(0.4, 0).Gap(); g != nil {
		t.Errorf("no zone is worth naming, and %+v is named", g)
	}
}

// subOff is the result for a mix that differs in the sub alone, and of whose difference so much
// is tone.
func subOff(differenceDB, toneDB float64) *Result {
	bands := func() []float64 { return make([]float64, spectrum.BandCount) }
	c := &Comparison{Options: CompareOptions{RangeHz: [2]float64{20, 20000}}, LeftOut: make([]Exclusion, spectrum.BandCount), DifferenceDB: bands(), ReferenceSpreadDB: bands(), Mix: &measure.Recording{}}
	r := &Result{Comparison: c, SolveOptions: DefaultSolve(), TargetDB: bands(), FittedDB: bands()}
	for i, z := range Zones() {
		r.Zones = append(r.Zones, ZoneDifference{Zone: z})
		for b, hz := range spectrum.Centres() {
			if i == 0 && hz < z.HighHz {
				r.DifferenceDB[b], r.TargetDB[b] = differenceDB, toneDB*r.SolveOptions.TowardPercent/100
			}
		}
	}
	r.Zones[0].DifferenceDB = differenceDB
	return r
}
