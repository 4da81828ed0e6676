package listen

import (
	"testing"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/memory"
	"toneplumb/spectrum/parallel"
)

// brokenSource is a source with a mistake that stops it.
type brokenSource struct{ audio.Source }

func (brokenSource) Read([][]float64) (int, error) { panic("no such table") }

// A panic on a goroutine of this package reaches the caller, who can go on.
func TestPanicReachesCaller(t *testing.T) {
	const rate = 44100
	ragged := &Excerpt{RateHz: rate, X: noise(2, 3*rate, 0.1)}
	ragged.X[1] = ragged.X[1][:rate]
	for name, f := range map[string]func(){
		"eachBlock": func() {
			eachBlock(t.Context(), brokenSource{&memory.Sound{RateHz: rate, X: noise(2, rate, 0.1)}}, func([][]float64) error { return nil })
		},
		"Levels": func() { ragged.Levels(t.Context(), several().Moves) },
	} {
		if p := parallel.Caught(f); p == nil {
			t.Errorf("%s returns", name)
		}
	}
}
