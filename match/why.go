package match

import (
	"math"

	"toneplumb/biquad"
	"toneplumb/match/uncertainty"
)

// Reason is what a move is for.
type Reason uint8

const (
	ForTheWhole  Reason = iota // it brings the whole curve nearer
	WithOthers                 // it makes the curve together with the other moves
	FollowsCurve               // a drawn curve is DB there
	Off                        // the mix is off by DB there
	OffRest                    // the mix is off by DB there against the rest
	MakesGood                  // the other moves alone would be off the target by DB there
)

// Code is the reason in JSON.
func (r Reason) Code() string {
	return [...]string{"whole", "with-others", "curve", "off", "off-rest", "makes-good"}[r]
}

// Why is why a move is there. It works over the range of reach.
type Why struct {
	Reason Reason
	DB     float64 // mean where the move works, of the wanted side less the other; signed like the gain

	HalfDB     float64 // half the likely range (95 %) of a difference there; 0 where none
	OthersDB   float64 // half the band of other references like these there; NaN of one
	TogetherDB float64 // what all moves do there; NaN where the move does no more than DB
	References int
}

// why returns what one of the moves answers: the mean difference where it works; where
// the sign of that is another, how that part is off against the rest; and else how far
// from the target the other moves alone would be. Where a move is more than the whole
// difference the others make it so, and what all do together is given.
func (r *Result) why(f biquad.Filter, all []biquad.Filter) Why {
	low, high := reach(f)
	w := Why{OthersDB: r.spreadAround(f), TogetherDB: math.NaN(), References: len(r.References)}
	if r.uncertainty != nil {
		w.HalfDB = uncertainty.Factor95 * r.uncertainty.MeanSD(low, high)
	}
	const leastDB = 0.05 // shown as 0.0
	wanted := func(db float64) bool { return db*f.GainDB > 0 && math.Abs(db) >= leastDB }
	d, rest := r.judged.Mean(r.DifferenceDB, low, high)
	alone := r.aloneDB(f, all)
	switch {
	case wanted(d) && r.Mix == nil:
		w.Reason, w.DB = FollowsCurve, d
	case wanted(d):
		w.Reason, w.DB = Off, d
	case wanted(d-rest) && r.Mix != nil:
		w.Reason, w.DB = OffRest, d-rest
	case len(all) > 1 && wanted(alone):
		w.Reason, w.DB = MakesGood, alone
		return w
	case len(all) > 1:
		w.Reason = WithOthers
		return w
	default:
		return w
	}
	const worthTelling = 1 // dB; our choice: less is a matter of the dials' steps
	if size := math.Abs(f.GainDB); len(all) > 1 && size >= worthTelling && size > math.Abs(w.DB) {
		w.TogetherDB, _ = r.judged.Mean(r.FittedDB, low, high)
	}
	return w
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
	inside, rest := r.judged.Mean(open, low, high)
	return inside - rest
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
