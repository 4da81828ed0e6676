package serve

import (
	"net/http"
	"reflect"
	"sync"
	"testing"

	"toneplumb/match/report"
	"toneplumb/spectrum/testkit"
)

// Requests with moves set by hand that are answered side by side get what each gets
// alone. Run with -race.
func TestByHandSideBySide(t *testing.T) {
	testkit.Skip(t, "for the race detector")
	v := enter(t)
	mix, ref := v.drop("m.wav", sound(t, 12, 1, faults...)), v.drop("r.wav", sound(t, 12, 2))
	v.measured(mix)
	v.measured(ref)
	const users = 20
	ask := func(i int) map[string]any {
		return with(usual(mix, ref), "dialled", []dialled{{Shape: "bell", FreqHz: 200 + 100*report.Number(i), GainDB: -2, Width: 1, On: true}})
	}
	var alone [users]resultAnswer
	for i := range alone {
		v.post("/result", ask(i), &alone[i])
	}
	var all sync.WaitGroup
	for i := range alone {
		all.Go(func() {
			for range 3 {
				var got resultAnswer
				if code := v.post("/result", ask(i), &got); code != http.StatusOK || got.After != alone[i].After || !reflect.DeepEqual(got.Curves, alone[i].Curves) {
					t.Errorf("user %d: answered with %d, distance %g beside others, %g alone", i, code, got.After, alone[i].After)
				}
			}
		})
	}
	all.Wait()
}
