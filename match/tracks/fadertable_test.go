package tracks

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
)

// faderTable is what TestFaderTruth measured, as a page of testdata.
func faderTable(all []faderCase) string {
	var b strings.Builder
	songs, fonts := map[string]bool{}, map[string]bool{}
	for _, c := range all {
		songs[c.song], fonts[c.font] = true, true
	}
	fmt.Fprintf(&b, `# Faders and filters with known truth

Written by TestFaderTruth, never by hand:

    TONEPLUMB_LONG=1 TONEPLUMB_MIDI_FILES=folder TONEPLUMB_FONT=TimGM6mb.sf2 go test -timeout 90m -run TestFaderTruth ./match/tracks -update

The folder holds the MIDI songs of Debian's openttd-openmsx, the second sound font is that of
timgm6mb-soundfont. %d songs, %d sound fonts; each channel rendered by itself, the drums by
groups, %d s. The mix is the sum of the stems with faults: gains of ±2 to ±6 dB, bells of ±4
to ±6 dB; each changes the mix by %.1f dB at least. The reference is the mix without them, the
next %d s of the song, or another song. Of each eight songs one has a reverberation behind
the sum and one a compressor. Thresholds were set while looking at the first ten songs; the rest are "held out".

right: all faults named and nothing else, faders within %.1f dB, filters within %.0f dB and a
third of an octave. holds: the sign is right and the likely range holds the truth. Fewer faders
do as well: they leave less than %.2f dB more for each fader that is saved, so by the plan's own
rule the fault is no plan (canBeTold).

`, len(songs), len(fonts), truthSec, audibleDB, truthSec, faderToleranceDB, filterToleranceDB, WorthDB)
	fmt.Fprintf(&b, "| reference | fault | behind the sum | songs | cases | right | cases with a fader advised | faders advised | of these holds | nothing advised |\n|---|---|---|---|---|---|---|---|---|---|\n")
	type key struct{ reference, kind, how, half string }
	var keys []key
	for _, c := range all {
		if k := (key{c.reference, c.kind, c.how, c.half}); !slices.Contains(keys, k) {
			keys = append(keys, k)
		}
	}
	slices.SortStableFunc(keys, func(x, y key) int {
		return strings.Compare(x.reference+x.kind+x.how+x.half, y.reference+y.kind+y.how+y.half)
	})
	for _, k := range keys {
		var n, right, some, advised, held, nothing int
		for _, c := range all {
			if k == (key{c.reference, c.kind, c.how, c.half}) {
				n, advised, held = n+1, advised+c.advised, held+c.held
				right, some, nothing = right+one(c.right), some+one(c.advised > 0), nothing+one(c.nothingAdvised)
			}
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %s | %d | %d | %d | %d | %d | %d |\n", k.reference, k.kind, k.how, k.half, n, right, some, advised, held, nothing)
	}
	b.WriteString("\n| bar | asked for | measured | held out alone |\n|---|---|---|---|\n")
	for _, bar := range faderBars {
		fmt.Fprintf(&b, "| %s | %s | %s | %s |\n", bar.name, bar.asked(), bar.share(all), bar.share(heldOutOnly(all)))
	}
	worst := 0.0
	for _, c := range all {
		if !math.IsNaN(c.offRenderedDB) && c.how == "plain sum" {
			worst = max(worst, math.Abs(c.offRenderedDB))
		}
	}
	fmt.Fprintf(&b, "\nBetween the computed and the rendered distance of a plan lie %.3f dB at most.\n", worst)
	for _, how := range []string{"plain sum", "reverb", "compressor"} {
		rest, moves := 0.0, 0.0
		least, leastMoves := math.Inf(1), math.Inf(1)
		for _, c := range all {
			if c.how == how && len(c.kind) > 0 && c.kind != "filter on the sum" {
				rest, moves, least, leastMoves = max(rest, c.restShare), max(moves, c.movesDB), min(least, c.restShare), min(leastMoves, c.movesDB)
			}
		}
		fmt.Fprintf(&b, "%s: %.3f to %.3f of the mix is in no track, its level moves by %.2f to %.2f dB.\n", how, least, rest, leastMoves, moves)
	}
	return b.String()
}

func one(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

func heldOutOnly(all []faderCase) (some []faderCase) {
	for _, c := range all {
		if c.half == "held out" {
			some = append(some, c)
		}
	}
	return some
}

// faderBar is what must hold of a share of cases, or of faders.
type faderBar struct {
	name  string
	least float64
	of    func(c faderCase) (right, all int)
}

func (b faderBar) asked() string { return fmt.Sprintf("%.0f %%", 100*b.least) }

func (b faderBar) count(cases []faderCase) (right, all int) {
	for _, c := range cases {
		r, n := b.of(c)
		right, all = right+r, all+n
	}
	return right, all
}

func (b faderBar) share(cases []faderCase) string {
	right, all := b.count(cases)
	if all == 0 {
		return "none"
	}
	return fmt.Sprintf("%d of %d, %.0f %%", right, all, 100*float64(right)/float64(all))
}

// only counts cases that are of a kind.
func only(is func(c faderCase) bool, right func(c faderCase) bool) func(faderCase) (int, int) {
	return func(c faderCase) (int, int) {
		if !is(c) {
			return 0, 0
		}
		return one(right(c)), 1
	}
}

func plainCopy(kinds ...string) func(c faderCase) bool {
	return func(c faderCase) bool {
		return c.reference == sameMoments && c.how == "plain sum" && slices.Contains(kinds, c.kind)
	}
}

var faderBars = []faderBar{
	{"same song: the right faders and no other, within 0.3 dB", 0.95, only(plainCopy("one fader", "two faders", "three faders"), func(c faderCase) bool { return c.right })},
	{"the same, at another level by as few faders too", 0.95, only(plainCopy("one fader", "two faders", "three faders"), func(c faderCase) bool { return c.balanced })},
	{"the same, without cases in which fewer faders do as well", 0.95, only(func(c faderCase) bool {
		return c.told && plainCopy("one fader", "two faders", "three faders")(c)
	}, func(c faderCase) bool { return c.right })},
	{"same song: one fader and one filter named right", 0.9, only(plainCopy("one fader, one filter"), func(c faderCase) bool { return c.right })},
	{"same song: one bell comes back as one move within 1 dB and a third of an octave", 0.85, only(plainCopy("one filter"), func(c faderCase) bool { return c.right })},
	{"same song: a bell on the sum is put on the master", 0.9, only(plainCopy("filter on the sum"), func(c faderCase) bool { return c.right })},
	{"same song, a compressor or a room behind the sum: said not to be firm, no filter", 0.9, only(func(c faderCase) bool {
		return c.reference == sameMoments && c.how != "plain sum" && c.kind != "nothing"
	}, func(c faderCase) bool { return !c.firm && c.filters == 0 })},
	{"nothing to do: nothing advised", 0.98, only(func(c faderCase) bool {
		return c.kind == "nothing"
	}, func(c faderCase) bool { return c.nothingAdvised })},
	{"other half: a fader advised where one is off", 0.5, only(func(c faderCase) bool { return c.reference == otherHalf && c.faders > 0 }, func(c faderCase) bool { return c.advised > 0 })},
	{"other half: of the faders advised sign right and truth in the range", 0.85, func(c faderCase) (int, int) {
		if c.reference != otherHalf {
			return 0, 0
		}
		return c.held, c.advised
	}},
	{"other half: the same, at another level too: all tracks but these moved the other way", 0.85, func(c faderCase) (int, int) {
		if c.reference != otherHalf {
			return 0, 0
		}
		return max(c.held, c.heldAtLevel), c.advised
	}},
	{"another song: nothing said, or truth in the range", 0.85, func(c faderCase) (int, int) {
		if c.reference != otherSong {
			return 0, 0
		}
		if c.advised == 0 {
			return 1, 1
		}
		return c.held, c.advised
	}},
	{"computed and rendered distance within 0.1 dB", 1, only(func(c faderCase) bool { return !math.IsNaN(c.offRenderedDB) }, func(c faderCase) bool { return math.Abs(c.offRenderedDB) <= renderToleranceDB })},
}

// checkFaders holds what the short run of one song can show, which are all bars but those of
// the other half; these are read in the table of the long run. One miss breaks no bar, since few cases
// cannot tell nine in ten from all.
func checkFaders(t *testing.T, all []faderCase) {
	for _, bar := range faderBars {
		if strings.HasPrefix(bar.name, "other half:") {
			continue
		}
		allowed := 0.0
		right, n := bar.count(all)
		if bar.least < 1 {
			allowed = max(1, (1-bar.least)*float64(n))
		}
		if float64(n-right) > allowed {
			t.Errorf("%s: %d of %d, want %s", bar.name, right, n, bar.asked())
		}
	}
}
