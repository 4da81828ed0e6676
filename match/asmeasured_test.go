package match

import (
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/testkit"
)

// As measured and all the way, a filter on the mix changes the moves by what undoes it:
// the share of it that is followed is the change, with the fault and without it, projected
// on what undoes the fault. Half of the mixes follow at least leastFollowed.
func TestKnownFilterFollowed(t *testing.T) {
	testkit.Skip(t, "advises on a dozen songs")
	const leastFollowed = 0.8 // of few songs, 0.87 measured; of all our aim is 0.9: testdata/README.md, "Decision 1b"
	songs := songTables(t)
	if os.Getenv("TONEPLUMB_TABLES") == "" {
		songs = songs[:12]
	}
	var some []trial
	for _, x := range trials(songs) {
		if x.kind == "maker" && x.faultDB == 4 {
			some = append(some, x)
		}
	}
	followed := make([]float64, len(some))
	inParallel(len(some), func(i int) {
		x, plain := some[i], some[i]
		plain.faultDB = 0
		with, without := x.try(AsMeasured, 100, (*Comparison).Solve).result, plain.try(AsMeasured, 100, (*Comparison).Solve).result
		filters := fault(rand.New(rand.NewPCG(x.seed, 1)), x.faultDB)
		truth := with.smooth(biquad.ResponseDB(nil, filters, spectrum.Centres(), with.RateHz))
		does, did := with.smooth(with.response(with.filters())), with.smooth(with.response(without.filters()))
		change, size := 0.0, 0.0
		for b, yes := range with.judged {
			if yes {
				change -= (does[b] - did[b]) * truth[b]
				size += truth[b] * truth[b]
			}
		}
		followed[i] = change / size
	})
	for _, held := range []bool{false, true} {
		var of []float64
		for i, x := range some {
			if x.heldOut || !held {
				of = append(of, followed[i])
			}
		}
		if len(of) == 0 {
			continue
		}
		t.Logf("held out alone %v: followed %.2f median, %.2f mean of %d", held, median(of), mean(of), len(of))
		if median(of) < leastFollowed {
			t.Errorf("held out alone %v: %.2f, want at least %g", held, median(of), leastFollowed)
		}
	}
}

// Who asks for all of the difference is not left farther away than who asks for the usual share: where the
// dials' gains end, the search would move two shelves together until no rule allows them.
func TestMoreLeavesNoMore(t *testing.T) {
	testkit.Skip(t, "searches eight times")
	tilted := func(hz float64) float64 { return 10 * math.Tanh(math.Log2(hz/950)) }
	c := compare(t, invented(1, 90, flat), invented(2, 90, tilted))
	o := DefaultSolve()
	o.Stage = AsMeasured
	usual := c.Solve(o)
	for _, toward := range []float64{70, 80, 90, 95, 100} {
		o.TowardPercent = toward
		if r := c.Solve(o); r.DistanceAfterDB > usual.DistanceAfterDB+moveDB {
			t.Errorf("%g %%: %d moves, %.2f dB are left of %.2f; at %g %% %.2f", toward, len(r.Moves), r.DistanceAfterDB, r.DistanceBeforeDB, defaultTowardPercent, usual.DistanceAfterDB)
		}
	}
}
