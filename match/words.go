package match

import (
	"fmt"
	"math"
	"strings"

	"toneplumb/biquad"
)

// Hertz writes a frequency as people dial it: "425 Hz", "3.15 kHz".
func Hertz(hz float64) string {
	if hz < 999.5 {
		return fmt.Sprintf("%.3g Hz", hz)
	}
	return fmt.Sprintf("%.3g kHz", hz/1000)
}

// Gain writes decibels with a sign and one decimal.
func Gain(db float64) string {
	if math.Abs(db) < 0.05 {
		return "0.0"
	}
	return strings.Replace(fmt.Sprintf("%+.1f", db), "-", "−", 1)
}

// reason says in one line what one of the moves answers: the mean difference where
// it works; where the sign of that is another, how that part stands against the rest;
// and else how far from the target the other moves alone would be. A move of more than
// the whole difference is owed to the others, so what all make is told.
func reason(r *Result, f biquad.Filter, all []biquad.Filter) string {
	low, high := reach(f)
	where := "around " + Hertz(f.FreqHz)
	switch f.Shape {
	case biquad.LowShelf:
		where = "below " + Hertz(f.FreqHz)
	case biquad.HighShelf:
		where = "above " + Hertz(f.FreqHz)
	}
	d, rest := r.judgedMean(r.DifferenceDB, low, high)
	reference := "the " + r.reference()
	alone := r.aloneDB(f, all)
	wanted := func(db float64) bool { return db*f.GainDB > 0 && math.Abs(db) >= 0.05 }
	text := ""
	switch against := d - rest; {
	case wanted(d) && r.Mix == nil:
		text, d = fmt.Sprintf("%s the curve is at %s dB", where, Gain(d)), math.Abs(d)
	case wanted(d):
		text, d = fmt.Sprintf("%s %s %s%s", where, overUnder(d), reference, r.doubt(f)), math.Abs(d)
	case wanted(against) && r.Mix != nil && against > 0:
		text, d = fmt.Sprintf("%s %.1f dB low against the rest%s", where, against, r.doubt(f)), against
	case wanted(against) && r.Mix != nil:
		text, d = fmt.Sprintf("%s %.1f dB high against the rest%s", where, -against, r.doubt(f)), -against
	case len(all) > 1 && wanted(alone):
		return fmt.Sprintf("%s the other moves alone stay %s the target%s", where, overUnder(alone), r.others(f))
	case len(all) > 1:
		return "makes the curve together with the other moves"
	default:
		return "brings the whole curve nearer"
	}
	const worthTelling = 1 // dB; our choice: less is a matter of the dials' steps
	if size := math.Abs(f.GainDB); len(all) > 1 && size >= worthTelling && size > d {
		sum, _ := r.judgedMean(r.FittedDB, low, high)
		text += fmt.Sprintf("; all moves make %s dB", Gain(sum))
	}
	return text
}

// aloneDB returns by how much a target lies over what the other moves make where one
// works, against the rest.
func (r *Result) aloneDB(f biquad.Filter, all []biquad.Filter) float64 {
	own, sum := r.response([]biquad.Filter{f}), r.response(all)
	open := make([]float64, len(sum))
	for b := range open {
		open[b] = r.TargetDB[b] - (sum[b] - own[b])
	}
	low, high := reach(f)
	inside, rest := r.judgedMean(open, low, high)
	return inside - rest
}

// doubt is half the band of the difference where a move works, and others.
func (r *Result) doubt(f biquad.Filter) string {
	low, high := reach(f)
	text := ""
	if half := bandFactor * r.uncertainty.meanSD(low, high); half >= 0.05 {
		text = fmt.Sprintf(", ±%.1f", half)
	}
	return text + r.others(f)
}

// others is how far other references like these may lie where a move works, "" for one.
func (r *Result) others(f biquad.Filter) string {
	if spread := r.spreadAround(f); !math.IsNaN(spread) {
		return fmt.Sprintf(" (other references ±%.1f)", spread)
	}
	return ""
}

// overUnder writes a difference, reference less mix, as where the mix stands.
func overUnder(db float64) string {
	if db > 0 {
		return fmt.Sprintf("%.1f dB under", db)
	}
	return fmt.Sprintf("%.1f dB over", -db)
}

// reference is "reference" or "references".
func (c *Comparison) reference() string {
	if len(c.References) > 1 {
		return "references"
	}
	return "reference"
}

// reach returns between which frequencies a move works: a shelf beyond its frequency,
// a bell between its half-gain points.
func reach(f biquad.Filter) (lowHz, highHz float64) {
	switch f.Shape {
	case biquad.LowShelf:
		return 0, f.FreqHz
	case biquad.HighShelf:
		return f.FreqHz, math.Inf(1)
	}
	half := math.Exp2(biquad.BandwidthFromQ(f.Q) / 2)
	return f.FreqHz / half, f.FreqHz * half
}
