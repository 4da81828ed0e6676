package page

import (
	"fmt"
	"testing"

	"toneplumb/spectrum/testkit"
)

// A live page gives the player other numbers while it plays: other moves take over at
// the same position, without a gap, a click or a jump.
func TestUpdate(t *testing.T) {
	testkit.Skip(t, "drives a browser")
	// stepRatio is how much further a sample may jump in a change than in the sounds
	// themselves: rounding.
	const stepRatio = 1.05
	p := usual(t)
	b := openPage(t, p.html)
	// Other moves: the first one alone, the others gone.
	b.Text(`(() => {
		const all = livePlayer.transport.player, one = structuredClone(all);
		one.moves = one.moves.slice(0, 1);
		one.sources[1].loudness_lufs = one.sources[1].loudness_lufs.slice(0, 2);
		Object.assign(window, { all, one });
		return 1;
	})()`)
	b.Press("2")
	b.Click("#play")
	b.Until(`livePlayer.transport.position() > 0.3`)
	b.Text(`livePlayer.update(one)`)
	b.Want("after the update", stateText, "Playing mix through the moves.")
	b.Want("switches", `document.querySelectorAll("#moves input").length`, "1")
	b.Want("all on", `livePlayer.transport.on`, "1")
	b.Until(`livePlayer.transport.position() > 0.6`)
	b.Text(`livePlayer.update(all)`)
	b.Want("switches", `document.querySelectorAll("#moves input").length`, "4")
	b.Until(`livePlayer.transport.position() > 0.9`)
	// Without the sound in the middle of the list: the chosen one stays chosen.
	b.Press("3")
	b.Text(`(() => { const none = structuredClone(all); none.moves = []; none.sources.splice(1, 1); livePlayer.update(none); return 1; })()`)
	b.Want("the reference stays chosen", stateText, "Playing reference.")
	// Another sound: it stops.
	b.Text(`(() => { const other = structuredClone(all); for (const s of other.sources) s.sound += "-2"; livePlayer.update(other); return 1; })()`)
	b.Want("other sound", `livePlayer.transport.playing`, "false")
	b.Text(`livePlayer.update(all)`)

	// The same in an offline context: two graphs, one fading out as the other fades in.
	const rate, sec = 44100, 3.0
	want := func(player string) [][]float64 {
		return b.offline(rate, sec, fmt.Sprintf(`g = buildGraph(ctx, %s, await decoded(ctx, %s), 1); g.out.connect(ctx.destination)`, player, player))
	}
	before, after := want("all"), want("one")
	both := b.offline(rate, sec, `g.choose(1, 0);
		const h = buildGraph(ctx, one, await decoded(ctx, one), 1);
		h.out.connect(ctx.destination);
		h.start(1, 1, 0, g.seconds);
		const start = g.start; g.start = function (...how) { start.apply(this, how); g.stop(1); }`)
	if db := apartDB(both, before, int(startSec*rate), rate); !(db <= throughDB) {
		t.Errorf("before: %.1f dB, want ≤ %d", db, throughDB)
	}
	// The new moves begin at rest: their lowest ring out within a tenth of a second.
	const restSec = 0.5
	if db := apartDB(both, after, int((1+restSec)*rate), int(2.9*rate)); !(db <= throughDB) {
		t.Errorf("after: %.1f dB, want ≤ %d", db, throughDB)
	}
	most, least := max(largestStep(before, startSec, 2.9), largestStep(after, startSec, 2.9)), largestStep(both, 0.95, 1.1)
	if least > stepRatio*most {
		t.Errorf("a step of %g in the change, the sounds themselves have %g", least, most)
	}
	b.quiet()
}

// largestStep is the largest difference of neighbouring samples between two seconds.
func largestStep(x [][]float64, fromSec, toSec float64) float64 {
	const rate = 44100
	most := 0.0
	for c := range x {
		for i := int(fromSec*rate) + 1; i < int(toSec*rate); i++ {
			most = max(most, x[c][i]-x[c][i-1], x[c][i-1]-x[c][i])
		}
	}
	return most
}
