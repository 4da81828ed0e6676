package page

import (
	"context"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"toneplumb/match/listen"
)

// An excerpt that is silent, as the first seconds of a shortened one may be, does not
// make the others loud: it has no level, and theirs is what it is without it.
func TestSilentSource(t *testing.T) {
	const rate, sec = 44100, 3
	tone, still := make([]float64, sec*rate), make([]float64, sec*rate)
	for i := range tone {
		tone[i] = 0.5 * math.Sin(2*math.Pi*997/rate*float64(i))
	}
	of := func(x []float64) *listen.Excerpt { return &listen.Excerpt{RateHz: rate, X: [][]float64{x, x}} }
	heard := []Heard{{Name: "mix", ID: "a", Excerpt: of(tone)}, {Name: "reference", ID: "b", Excerpt: of(tone)}}
	want, err := NewPlayer(context.Background(), heard, nil, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	heard[1].Excerpt = of(still)
	got, err := NewPlayer(context.Background(), heard, nil, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if got.LevelLUFS != want.LevelLUFS {
		t.Errorf("level %v beside silence, %v without", got.LevelLUFS, want.LevelLUFS)
	}
	raw, err := json.Marshal(got)
	if err != nil || !strings.Contains(string(raw), `"loudness_lufs":[null]`) {
		t.Errorf("silence is told as %.300s (%v)", raw, err)
	}
}
