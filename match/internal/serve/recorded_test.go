package serve

import (
	"fmt"
	"math"
	"testing"

	"toneplumb/match/internal/browser"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/testkit"
)

// Mix, mix through the moves and reference are equally loud as they come out of each engine, recorded
// from the output over a whole loop.
func TestRecordedLoudness(t *testing.T) {
	testkit.Long(t, "drives three browsers")
	const (
		sec     = 12  // of the files, so of the loop
		apartLU = 0.2 // common practice, from memory: compare within 0.2 LU
	)
	mix, reference := onDisk(t, sound(t, sec, 1, faults...)), onDisk(t, sound(t, sec, 2))
	browser.Each(t, func(t *testing.T) {
		b := start(t).open()
		b.dropOn("mix.wav", mix, "reference.wav", reference)
		b.Until(settled + ` && !byId("player").hidden`)
		b.Click("#play")
		b.Until(`heard.transport.playing`)
		first := math.NaN()
		for i, name := range []string{"mix", "mix through the moves", "reference"} {
			b.Click(fmt.Sprintf("#sources label:nth-of-type(%d) input", i+1))
			b.Until(fmt.Sprintf(`byId("state").textContent === "Playing %s."`, name))
			b.Recorded(1) // what was chosen before
			m := loudness.NewMeter(browser.RecordedHz, 2)
			m.Add(b.withoutGaps(sec))
			lufs := loudness.Integrated(m.Steps())
			if i == 0 {
				first = lufs
			}
			if t.Logf("%s: %.2f LUFS", name, lufs); !(math.Abs(lufs-first) <= apartLU) {
				t.Errorf("%s is heard at %.2f LUFS, the mix at %.2f", name, lufs, first)
			}
		}
		b.Quiet()
	})
}

// withoutGaps records until silence, which a busy machine leaves, is under a hundredth: that lowers the
// loudness by 0.04 LU.
func (b *tab) withoutGaps(sec int) [][]float64 {
	b.T.Helper()
	const tries = 6
	for range tries {
		x, silent := b.Recorded(sec), 0
		for i := range x[0] {
			if x[0][i] == 0 && x[1][i] == 0 {
				silent++
			}
		}
		if silent <= len(x[0])/100 {
			return x
		}
		b.T.Logf("gaps of %d ms; recorded again", 1000*silent/browser.RecordedHz)
	}
	b.T.Fatalf("each of %d recordings has gaps: the machine is too busy", tries)
	return nil
}
