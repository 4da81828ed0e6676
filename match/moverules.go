package match

import (
	"math"
	"slices"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match/uncertainty"
	"toneplumb/spectrum"
)

// leastShown is the least share of a move's gain that the difference must show where the move
// works, and that all moves together must do there, level ignored. A move that shows less, or whose
// work the other moves undo, reads as a mistake. Our choice, by the charts of pairs of songs
// (testdata/README.md, "Twenty pairs" and decision 1e); a half of what shows left 0.1 dB more of a known fault.
const leastShown = 0.25

// dialStepOct is how far the steps of the dials may take a bell's half-gain point from where
// the search put it. Our choice: a step of frequency and one of Q (the demo's 67 Hz: 1/20).
const dialStepOct = 1.0 / 12

// dialable reports whether an engineer would dial this set of moves, given the difference.
// Every move must show where it works, in the difference and in what all moves do. No two bells may fight or repeat each
// other, and no bell may do the work of a shelf that the equaliser has there: reach past the judged range by over slackOct octaves.
// Our choice of rules.
func (c *Comparison) dialable(filters []biquad.Filter, e fit.Equaliser, slackOct float64) bool {
	low, high := c.JudgedHz()
	e = e.Restrict(low, high)
	low, high = low*math.Exp2(-slackOct), high*math.Exp2(slackOct)
	does := c.response(filters)
	c.judged.Centre(does)
	for i, f := range filters {
		from, to := reach(f)
		if f.Shape == biquad.Bell && (from < low && e.LowShelf.Count > 0 || to > high && e.HighShelf.Count > 0) {
			return false // a shelf in disguise
		}
		for _, curve := range [][]float64{c.DifferenceDB, does} {
			if d, _ := c.judged.Mean(curve, from, to); !(d*f.GainDB > leastShown*f.GainDB*f.GainDB) {
				return false
			}
		}
		if slices.ContainsFunc(filters[:i], func(g biquad.Filter) bool { return fights(f, g) }) {
			return false
		}
	}
	return !repeating(filters)
}

// repeating reports whether two of the moves repeat each other.
func repeating(filters []biquad.Filter) bool {
	for i, f := range filters {
		if slices.ContainsFunc(filters[:i], func(g biquad.Filter) bool { return repeats(f, g) }) {
			return true
		}
	}
	return false
}

// repeats reports whether two bells or two shelves are less than a third of an octave apart, or a low
// shelf over a high one. Two shelves that undo each other but for a level, as two lifts from
// below and from above do, need an octave between them.
func repeats(f, g biquad.Filter) bool {
	if (f.Shape == biquad.Bell) != (g.Shape == biquad.Bell) {
		return false
	}
	apartOct := math.Log2(g.FreqHz / f.FreqHz) // from a low shelf up to a high one
	switch {
	case f.Shape == g.Shape:
		apartOct = math.Abs(apartOct)
	case f.Shape == biquad.HighShelf:
		apartOct = -apartOct
	}
	if f.Shape != biquad.Bell && (f.Shape == g.Shape) != (f.GainDB*g.GainDB > 0) {
		return apartOct < 1
	}
	return apartOct < 1.0/3
}

// fights reports whether two bells of opposite gains overlap by more than half of the
// narrower one's width in octaves, between half-gain points.
func fights(f, g biquad.Filter) bool {
	if f.Shape != biquad.Bell || g.Shape != biquad.Bell || f.GainDB*g.GainDB >= 0 {
		return false
	}
	lowF, highF := reach(f)
	lowG, highG := reach(g)
	shared := math.Log2(min(highF, highG) / max(lowF, lowG))
	return shared > min(math.Log2(highF/lowF), math.Log2(highG/lowG))/2
}

// worthDB returns the worth of the least useful move: by how many dB rms the mix would be
// farther from a share of the difference without it; +Inf for no moves.
func (c *Comparison) worthDB(filters []biquad.Filter, share float64) float64 {
	rest := func(without int) float64 {
		others := slices.Concat(filters[:without], filters[min(without+1, len(filters)):])
		does := c.smoother.Smooth(nil, c.response(others))
		for b := range does {
			does[b] = share*c.DifferenceDB[b] - does[b]
		}
		return c.judged.Distance(does)
	}
	all, least := rest(len(filters)), math.Inf(1)
	for i := range filters {
		least = min(least, rest(i)-all)
	}
	return least
}

// againstZones reports whether the moves shift any zone's mean against its difference, with
// both above 0.8 dB times the wanted share. Our choice: half a dB, the step of common
// dials, at 60 %. In a rough mix only a difference beyond its likely range counts: a cut of the
// mids lifts all else a little, level ignored, and a zone that may be level already is no
// reason against it. A finished mix is left alone in doubt. As measured, both must be above half
// a dB.
func (c *Comparison) againstZones(filters []biquad.Filter, share float64, stage Stage) bool {
	does := c.smooth(c.response(filters))
	for i, bands := range c.zoneBands() {
		if bands == nil {
			continue
		}
		does, wanted := spectrum.MeanAt(does, bands), spectrum.MeanAt(c.DifferenceDB, bands)
		if stage == AsMeasured {
			if does*wanted < 0 && min(math.Abs(does), math.Abs(wanted)) > 0.5 {
				return true
			}
			continue
		}
		sure := stage == Finished || c.uncertainty == nil || math.Abs(wanted) > uncertainty.Factor95*c.uncertainty.ZoneDB[i]
		if sure && does*wanted < 0 && min(math.Abs(does), math.Abs(wanted)) > 0.8*share {
			return true
		}
	}
	return false
}
