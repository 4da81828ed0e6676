package page

import (
	"encoding/json"
	"fmt"
	"math"
	"regexp"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/match/listen"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/memory"
	"toneplumb/spectrum/testkit"
)

// dataIn reads the page's own numbers.
func dataIn(t testing.TB, html []byte) *Data {
	t.Helper()
	found := regexp.MustCompile(`(?s)<script type="application/json" id="data">(.*?)</script>`).FindSubmatch(html)
	if found == nil {
		t.Fatal("no data in the page")
	}
	var d Data
	if err := json.Unmarshal(found[1], &d); err != nil {
		t.Fatal(err)
	}
	return &d
}

func loudnessOf(x [][]float64, rateHz int) float64 {
	m := loudness.NewMeter(float64(rateHz), len(x))
	m.Add(x)
	return loudness.Integrated(m.Steps())
}

// apartDB is the rms of x − y over that of y, both channels, between two frames.
func apartDB(x, y [][]float64, from, to int) float64 {
	apart, of := 0.0, 0.0
	for c := range y {
		for i := from; i < to; i++ {
			d := x[c][i] - y[c][i]
			apart += d * d
			of += y[c][i] * y[c][i]
		}
	}
	return 10 * math.Log10(apart/of)
}

const (
	// startSec is when the fade of the start is over to −140 dB: 50 time constants of 3 ms.
	startSec = 0.15
	// endSec is the fade at the end of the part and a bit.
	endSec = 0.01
	// throughDB is how far under the sound the browser's rendering may differ from ours. Our
	// choice: nobody hears it under the sound.
	throughDB = -80
	// apartLU is how far loudnesses may lie apart. Common practice, from memory: compare within 0.2 LU.
	apartLU = 0.2
)

// The mix through the moves as the browser renders it from the page is what package
// listen makes of the same sound, with all moves and with some; all sources and choices
// are equally loud; nothing clips.
func TestBrowserRendersTheMoves(t *testing.T) {
	testkit.Skip(t, "drives a browser")
	p := usual(t)
	b := openPage(t, p.html)
	d := dataIn(t, p.html)
	level, sec, rate := float64(d.Player.LevelLUFS), float64(d.Player.Seconds), d.Player.RateHz
	mix, mixRate := stored(t, p.html, "sound-mix")
	if mixRate != rate || rate != 44100 {
		t.Fatalf("the mix is stored at %d Hz, played at %d", mixRate, rate)
	}
	to := len(mix[0]) - int(endSec*float64(rate))
	for _, choice := range []int{6, 15} { // package listen's tests have all
		got := b.offline(rate, sec, fmt.Sprintf("g.setMoves(%d, 0); g.choose(1, 0)", choice))
		s := &document.Settings{RateHz: float64(rate)}
		for i, f := range usualMoves {
			if choice>>i&1 == 1 {
				s.Moves = append(s.Moves, f)
			}
		}
		through, err := listen.Through(&memory.Sound{RateHz: rate, X: mix}, s)
		if err != nil {
			t.Fatal(err)
		}
		want := drain(t, through)
		gain := math.Pow(10, (level-loudnessOf(want, rate))/20)
		peak := 0.0
		for c := range want {
			for i := range want[c] {
				want[c][i] *= gain
				peak = max(peak, math.Abs(got[c][i]))
			}
		}
		// The gain is told in LU with four decimals; what is left is single precision.
		db, lu := apartDB(got, want, int(startSec*float64(rate)), to), loudnessOf(got, rate)-level
		t.Logf("choice %04b: %.1f dB from listen.Through, %+.4f LU from the level, peak %.1f dBFS", choice, db, lu, 20*math.Log10(peak))
		if !(db <= throughDB) || !(math.Abs(lu) <= apartLU) || peak >= 1 {
			t.Errorf("choice %04b: %.1f dB from listen.Through (want ≤ %d), %+.3f LU from the level (want ≤ %g), peak %g", choice, db, throughDB, lu, apartLU, peak)
		}
	}
	for i, source := range d.Player.Sources {
		for _, rate := range []int{44100, 48000} {
			if rate == 44100 && i == 1 {
				continue // as above
			}
			lu := loudnessOf(b.offline(rate, sec, fmt.Sprintf("g.choose(%d, 0)", i)), rate) - level
			t.Logf("%s at %d Hz: %+.4f LU from the level", source.Name, rate, lu)
			if !(math.Abs(lu) <= apartLU) {
				t.Errorf("%s at %d Hz: %+.3f LU from the level, want ≤ %g", source.Name, rate, lu, apartLU)
			}
		}
	}
	b.quiet()
}

// A switch is a fade from one source to the other at the same position: at each moment
// e^(−t/3 ms) of the one and the rest of the other, so that there is no gap, click or
// jump. Likewise a move, between the mix with it and without.
func TestSwitching(t *testing.T) {
	testkit.Skip(t, "drives a browser")
	const exactDB = -80 // of the sum that it should be; single precision and rounded gains
	p := usual(t)
	b := openPage(t, p.html)
	const rate, sec = 44100, 3.0
	alone := make([][][]float64, 3)
	for i := range alone {
		alone[i] = b.offline(rate, sec, fmt.Sprintf("g.choose(%d, 0)", i))
	}
	got := b.offline(rate, sec, "g.choose(0, 0); g.choose(1, 1); g.choose(2, 1.5); g.choose(0, 2)")
	from := int(startSec * rate)
	want := [][]float64{make([]float64, len(got[0])), make([]float64, len(got[0]))}
	for i := range got[0] {
		at := float64(i) / rate
		share := []float64{1, 0, 0}
		for _, s := range []struct {
			at float64
			to int
		}{{1, 1}, {1.5, 2}, {2, 0}} {
			if at < s.at {
				break
			}
			rest := math.Exp((s.at - at) / 0.003)
			for k := range share {
				share[k] *= rest
			}
			share[s.to] += 1 - rest
		}
		for c := range want {
			for k := range share {
				want[c][i] += share[k] * alone[k][c][i]
			}
		}
	}
	for _, stretch := range [][2]float64{{startSec, sec - 0.01}, {0.99, 1.05}, {1.49, 1.55}, {1.99, 2.05}} {
		db := apartDB(got, want, int(stretch[0]*rate), int(stretch[1]*rate))
		t.Logf("%.2f to %.2f s: %.1f dB from the fades", stretch[0], stretch[1], db)
		if !(db <= exactDB) {
			t.Errorf("%.2f to %.2f s: %.1f dB from the fades, want ≤ %d", stretch[0], stretch[1], db, exactDB)
		}
	}
	// A move off and on again: what comes before and after is as if nothing had been.
	got = b.offline(rate, sec, "g.choose(1, 0); g.setMoves(13, 1); g.setMoves(15, 2)")
	without := b.offline(rate, sec, "g.setMoves(13, 0); g.choose(1, 0)")
	for _, s := range []struct {
		name     string
		want     [][]float64
		from, to float64
	}{{"before", alone[1], startSec, 1}, {"off", without, 1.15, 2}, {"after", alone[1], 2.15, sec - 0.01}} {
		if db := apartDB(got, s.want, int(s.from*rate), int(s.to*rate)); !(db <= exactDB) {
			t.Errorf("%s: %.1f dB, want ≤ %d", s.name, db, exactDB)
		}
	}
	// In between no sample jumps further than the sounds themselves do.
	step := func(x [][]float64) float64 {
		most := 0.0
		for c := range x {
			for i := from + 1; i < len(x[c]); i++ {
				most = max(most, math.Abs(x[c][i]-x[c][i-1]))
			}
		}
		return most
	}
	if most := max(step(alone[1]), step(without)); step(got) > 1.05*most {
		t.Errorf("a step of %g, the sounds themselves have %g", step(got), most)
	}
	// A part repeats itself, faded at its ends.
	loop := b.offline(rate, sec, "g.choose(2, 0); part = [1, 1.5]")
	whole := b.offline(rate, sec, "g.choose(2, 0)")
	shifted := func(x [][]float64, frames int) [][]float64 { return [][]float64{x[0][frames:], x[1][frames:]} }
	for turn := 1; turn < 5; turn++ {
		at := turn * rate / 2
		if db := apartDB(shifted(loop, at), shifted(whole, rate), rate/100, rate/2-rate/100); !(db <= exactDB) {
			t.Errorf("turn %d: %.1f dB from the part itself, want ≤ %d", turn, db, exactDB)
		}
		for c := range loop {
			if v := math.Abs(loop[c][at]) + math.Abs(loop[c][at-1]); v > 1e-3 { // a 5 ms fade's first steps
				t.Errorf("turn %d: %g at the seam", turn, v)
			}
		}
	}
	b.quiet()
}

// One channel is as loud as two; a narrow low move keeps its precision.
func TestBrowserMono(t *testing.T) {
	testkit.Skip(t, "drives a browser")
	moves := []biquad.Filter{{Shape: biquad.Bell, FreqHz: 40, GainDB: 6, Q: 4}}
	p := newPair(t, "mono.wav", "reference.wav", 48000, 44100, 1, moves)
	b := openPage(t, p.html)
	d := dataIn(t, p.html)
	sec, rate := float64(d.Player.Seconds), d.Player.RateHz
	for i, source := range d.Player.Sources {
		x := b.offline(rate, sec, fmt.Sprintf("g.choose(%d, 0)", i))
		if lu := loudnessOf(x, rate) - float64(d.Player.LevelLUFS); !(math.Abs(lu) <= apartLU) {
			t.Errorf("%s: %+.3f LU from the level, want ≤ %g", source.Name, lu, apartLU)
		}
		if i != 1 {
			continue
		}
		mix, _ := stored(t, p.html, "sound-mix")
		through, err := listen.Through(&memory.Sound{RateHz: rate, X: mix}, &document.Settings{RateHz: float64(rate), Moves: moves,
			TrimDB: float64(d.Player.LevelLUFS) - float64(source.LoudnessLUFS[1])})
		if err != nil {
			t.Fatal(err)
		}
		want := drain(t, through)
		db := apartDB(x, [][]float64{want[0], want[0]}, int(startSec*float64(rate)), len(want[0])-int(endSec*float64(rate)))
		t.Logf("a mono mix through a narrow low move: %.1f dB from listen.Through", db)
		if !(db <= throughDB) {
			t.Errorf("%.1f dB from listen.Through, want ≤ %d", db, throughDB)
		}
	}
	b.quiet()
}
