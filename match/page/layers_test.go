package page

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/match/listen"
	"toneplumb/spectrum/memory"
	"toneplumb/spectrum/testkit"
)

// Sounds that a plan adds are added before its filters, each as its switch says, and every
// choice is equally loud.
func TestLayers(t *testing.T) {
	testkit.Skip(t, "drives a browser")
	p := usual(t)
	sound := *p.sound
	quiet := *sound.Mix // the mix backwards, or nearly, for two sounds that a track might add
	quiet.X = nil
	for _, x := range sound.Mix.X {
		y := slices.Clone(x)
		slices.Reverse(y)
		quiet.X = append(quiet.X, y)
	}
	quiet.ScaleDB = sound.Mix.ScaleDB + 14
	again := quiet.First(heardSec - 1)
	again.ScaleDB = sound.Mix.ScaleDB + 6
	bell := biquad.Filter{Shape: biquad.Bell, FreqHz: 900, GainDB: -5, Q: 1}
	sound.Reference, sound.Which = nil, -1
	sound.Layers = []Layer{{Label: "quiet", Excerpt: &quiet}, {Label: "again", Excerpt: again}}
	sound.Filters, sound.Labels = []biquad.Filter{bell}, []string{"bell"}
	html := written(t, p.result, &sound)
	b := openPage(t, html)
	d := dataIn(t, html)
	sec, rate := float64(d.Player.Seconds), d.Player.RateHz
	if len(d.Player.Moves) != 3 || len(d.Player.Sources[1].LoudnessLUFS) != 8 {
		t.Fatalf("%d switches, %d choices", len(d.Player.Moves), len(d.Player.Sources[1].LoudnessLUFS))
	}
	mix, _ := stored(t, html, "sound-mix")
	for _, choice := range []int{0, 1, 6, 7} {
		want := [][]float64{append([]float64(nil), mix[0]...), append([]float64(nil), mix[1]...)}
		for i, db := range []float64{-14, -6} {
			layer, layerRate := stored(t, html, fmt.Sprintf("sound-step-%d", i+1))
			if layerRate != rate {
				t.Fatalf("a layer at %d Hz", layerRate)
			}
			for c := range want {
				for k := range want[c] {
					if choice>>i&1 == 1 && k < len(layer[c]) {
						want[c][k] += math.Pow(10, db/20) * layer[c][k]
					}
				}
			}
		}
		s := &document.Settings{RateHz: float64(rate)}
		if choice>>2 == 1 {
			s.Moves = []biquad.Filter{bell}
		}
		through, err := listen.Through(&memory.Sound{RateHz: rate, X: want}, s)
		if err != nil {
			t.Fatal(err)
		}
		want = drain(t, through)
		level := float64(d.Player.LevelLUFS)
		gain := math.Pow(10, (level-loudnessOf(want, rate))/20)
		for c := range want {
			for i := range want[c] {
				want[c][i] *= gain
			}
		}
		got := b.offline(rate, sec, fmt.Sprintf("g.setMoves(%d, 0); g.choose(1, 0)", choice))
		to := len(want[0]) - int(endSec*float64(rate))
		db, lu := apartDB(got, want, int(startSec*float64(rate)), to), loudnessOf(got, rate)-level
		if !(db <= throughDB) || !(math.Abs(lu) <= apartLU) {
			t.Errorf("choice %03b: %.1f dB from the sum, want ≤ %d; %+.3f LU from the level", choice, db, throughDB, lu)
		}
	}
	b.quiet()
}
