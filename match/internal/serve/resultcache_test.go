package serve

import (
	"testing"

	"toneplumb/match"
	"toneplumb/match/job"
)

// Whatever changes the advice changes its key, or the page would show an old answer.
func TestAdviceKey(t *testing.T) {
	usual := func() *request { return &request{options: job.Options{Solve: match.DefaultSolve()}} }
	before := usual().adviceKey()
	changed := map[string]func(*match.SolveOptions){"stage": func(o *match.SolveOptions) { o.Stage = match.AsMeasured }}
	for _, n := range match.Numbers {
		changed[n.Flag] = func(o *match.SolveOptions) { *n.Of(o) = n.Least }
	}
	for name, change := range changed {
		a := usual()
		if change(&a.options.Solve); a.adviceKey() == before {
			t.Errorf("another %s has the same key", name)
		}
	}
}
