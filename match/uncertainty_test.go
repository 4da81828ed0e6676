package match

import (
	"math"
	"reflect"
	"testing"

	"toneplumb/match/uncertainty"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// Two songs of four minutes are to take 35 ms, with the target 60. Our choice: beside the
// drawing of the chart nobody waits for it.
func BenchmarkConfidence(b *testing.B) {
	mix, ref := invented(1, 240, flat), invented(2, 240, flat)
	c, err := Compare(mix, []*measure.Recording{ref}, DefaultCompare())
	if err != nil {
		b.Fatal(err)
	}
	b.Run("scatter", func(b *testing.B) {
		pairs := c.blocks()
		for b.Loop() {
			uncertainty.Measure(pairs, c.bands())
		}
	})
	b.Run("target", func(b *testing.B) {
		for b.Loop() {
			c.target(Rough)
		}
	})
}

// invented seconds are independent, so the standard error is known: each is 8 dB of
// level per octave and window, six windows a second.
func TestScatterIsTheStandardError(t *testing.T) {
	var errs, said []float64
	for seed := range uint64(12) {
		c := compare(t, invented(2*seed+1, 160, flat), invented(2*seed+2, 160, flat))
		said = append(said, c.uncertainty.MeanDB())
		errs = append(errs, c.judged.Distance(c.DifferenceDB))
	}
	// 12 pairs of some 9 octaves: the rms is known to about 10 %.
	const tolerance = 0.25
	if ratio := rms(errs) / rms(said); math.Abs(ratio-1) > tolerance {
		t.Errorf("differences scatter by %.3f dB, said %.3f", rms(errs), rms(said))
	}
}

func rms(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(len(x)))
}

func TestCopyLeavesNoDoubt(t *testing.T) {
	song := invented(1, 160, flat)
	c := compare(t, song, song)
	if got := c.uncertainty.MeanDB(); got != 0 || !c.SameSong[0] {
		t.Errorf("a copy scatters by %g dB, same song %v", got, c.SameSong)
	}
	// Moved by 5 s, so that blocks must be cut at the same moments.
	c = compare(t, song, part(song, 5, 160))
	if got := c.uncertainty.MeanDB(); got > 0.001 {
		t.Errorf("a copy that starts later scatters by %g dB", got)
	}
}

// A copy that starts by part of a second later is drawn at the same moments too: the
// rows on the borders of blocks are shared out.
func TestCopyByPartOfASecond(t *testing.T) {
	song := invented(1, 160, flat)
	whole, shifted := song.Blocks(song.GateWeights(), 0, 8), song.Blocks(song.GateWeights(), 0.5, 8)
	if len(whole) != 20 || len(shifted) != 20 {
		t.Fatalf("%d and %d blocks", len(whole), len(shifted))
	}
	sum := func(blocks []measure.Block) (weight, power float64) {
		for _, b := range blocks {
			weight += b.Weight
			power += b.Power[100]
		}
		return weight, power
	}
	w1, p1 := sum(whole)
	w2, p2 := sum(shifted)
	if math.Abs(w1-w2-0.5) > 1e-9 || !(p2 < p1) {
		t.Errorf("weights %g and %g, powers %g and %g: half a second before the first block is not left out", w1, w2, p1, p2)
	}
}

// Passages are few blocks: they are not to seem surer than all of the song.
func TestPassagesAreLessSure(t *testing.T) {
	mix, ref := invented(1, 160, flat), invented(2, 160, flat)
	all := compare(t, mix, ref).uncertainty.MeanDB()
	last := all
	for _, sec := range []float64{64, 24, 8, 4} {
		p := measure.Passages{{40, 40 + sec}}
		m, err1 := mix.Part(p)
		r, err2 := ref.Part(p)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		got := compare(t, m, r).uncertainty.MeanDB()
		if got < last {
			t.Errorf("%g s scatter by %.2f dB, more of the song by %.2f", sec, got, last)
		}
		last = got
	}
}

// The order in which references are named changes nothing.
func TestOrderOfReferences(t *testing.T) {
	mix, a, b, c := invented(1, 90, flat), invented(2, 90, flat), invented(3, 80, flat), invented(4, 100, flat)
	x, y := compare(t, mix, a, b, c), compare(t, mix, c, a, b)
	if !reflect.DeepEqual(x.uncertainty.Cov, y.uncertainty.Cov) || !reflect.DeepEqual(x.Solve(DefaultSolve()).Moves, y.Solve(DefaultSolve()).Moves) {
		t.Error("another order, another answer")
	}
}

// Of two measurements the surer one is followed further, and neither beyond what was
// measured.
func TestTargetShrinksWhatIsUnsure(t *testing.T) {
	tilt := func(hz float64) float64 { return 3 * math.Log10(hz/800) }
	share := func(sec int) float64 {
		c := compare(t, invented(1, sec, flat), invented(2, sec, tilt))
		return c.judged.Distance(c.target(Rough).db) / c.judged.Distance(c.DifferenceDB)
	}
	short, long := share(24), share(600)
	if !(short < long && long <= 1.02 && short > 0.2) {
		t.Errorf("24 s are followed by %.2f, 600 s by %.2f", short, long)
	}
}

func TestSamePairSameBands(t *testing.T) {
	a, b := invented(1, 90, flat), invented(2, 90, flat)
	x, y := compare(t, a, b), compare(t, a, b)
	for i := range x.LowDB {
		if x.LowDB[i] != y.LowDB[i] && !math.IsNaN(x.LowDB[i]) {
			t.Fatalf("band %d of %d: %g and %g", i, spectrum.BandCount, x.LowDB[i], y.LowDB[i])
		}
	}
}
