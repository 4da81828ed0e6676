package match

import (
	"testing"

	"toneplumb/spectrum/measure"
)

// How long the page waits after a slider was moved: two songs of testdata compared, with
// the target, and the moves for it. On one core 60 and 250 ms are the bars (our choice);
// on a machine that is busy count the processor's time:
//
//	go test -c -o match.test ./match && cd match && GOMAXPROCS=1 bash -c \
//	  'time ../match.test -test.run - -test.bench BenchmarkAdvice/search -test.benchtime 50x'
func BenchmarkAdvice(b *testing.B) {
	songs := songTables(b)
	compared := func() *Comparison {
		c, err := Compare(songs[0], []*measure.Recording{songs[1]}, DefaultCompare())
		if err != nil {
			b.Fatal(err)
		}
		return c
	}
	b.Run("target", func(b *testing.B) {
		for b.Loop() {
			compared().Advise(DefaultSolve())
		}
	})
	b.Run("search", func(b *testing.B) {
		c := compared()
		for b.Loop() {
			c.Solve(DefaultSolve())
		}
	})
}
