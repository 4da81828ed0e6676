package match

import (
	"math"

	"toneplumb/biquad"
	"toneplumb/match/uncertainty"
)

// Reason is the kind of reason for a move.
type Reason uint8

const (
	ForTheWhole  Reason = iota // it brings the whole curve nearer
	WithOthers                 // it shapes the curve together with the other moves
	FollowsCurve               // a drawn curve is at DB where the move works
	Off                        // the mix is off by DB there
	OffRest                    // the mix is off by DB there relative to the rest
	MakesGood                  // the other moves alone would miss the target by DB there
)

// Code returns the reason as it is written in JSON.
func (r Reason) Code() string {
	return [...]string{"whole", "with-others", "curve", "off", "off-rest", "makes-good"}[r]
}

// Why is the reason for a move. Its figures are means in dB where the move works: beyond a
// shelf's frequency, or between a bell's half-gain points.
type Why struct {
	Reason Reason
	DB     float64 // the wanted level less the present one; same sign as the gain

	HalfDB     float64 // half the likely range (95 %) of the difference there; 0 if unknown
	OthersDB   float64 // half the band of other references like these there; NaN for one reference
	TogetherDB float64 // what all moves do there; NaN if the move does no more than DB
	References int     // number of references
}

// why returns the reason for one of the moves. It is the mean difference where the move
// works; if that has the wrong sign, the difference relative to the rest; and otherwise how
// far the other moves alone would be from the target. If the move is larger than the
// difference, the other moves require it; TogetherDB is set then.
func (r *Result) why(f biquad.Filter, all []biquad.Filter) Why {
	low, high := reach(f)
	w := Why{OthersDB: r.spreadAround(f), TogetherDB: math.NaN(), References: len(r.References)}
	if r.uncertainty != nil {
		w.HalfDB = uncertainty.Factor95 * r.uncertainty.MeanSD(low, high)
	}
	const leastDB = 0.05 // less is printed as 0.0
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

// aloneDB returns the mean of the target less what the other moves do, where a move works,
// relative to the rest.
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

// reach returns the frequencies between which a move works: a shelf beyond its frequency, a
// bell between its half-gain points.
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
