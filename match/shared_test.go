package match

import (
	"reflect"
	"sync"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum/testkit"
)

// Goroutines that set moves on one comparison, and one that looks for moves meanwhile,
// get what each gets alone. Run with -race.
func TestSharedComparison(t *testing.T) {
	testkit.Skip(t, "for the race detector")
	c := compare(t, invented(1, 20, flat), invented(2, 20, through(biquad.Filter{Shape: biquad.Bell, FreqHz: 300, GainDB: 4, Q: 0.8})))
	o := DefaultSolve()
	advised := c.Solve(o)
	const users = 8
	var alone [users]*Result
	byHand := func(i int) *Result {
		return c.With([]biquad.Filter{{Shape: biquad.Bell, FreqHz: 200 + 100*float64(i), GainDB: 3, Q: 1}}, o)
	}
	for i := range alone {
		alone[i] = byHand(i)
	}
	var all sync.WaitGroup
	all.Go(func() {
		if got := c.Solve(o); !reflect.DeepEqual(got.Moves, advised.Moves) || got.DistanceAfterDB != advised.DistanceAfterDB {
			t.Errorf("%v beside others, %v alone", got.Moves, advised.Moves)
		}
	})
	for i := range alone {
		all.Go(func() {
			for range 20 {
				if got := byHand(i); got.DistanceAfterDB != alone[i].DistanceAfterDB {
					t.Errorf("user %d: distance %g beside others, %g alone", i, got.DistanceAfterDB, alone[i].DistanceAfterDB)
					return
				}
			}
		})
	}
	all.Wait()
}
