package match

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/testkit"
)

// Of references that lie apart by their tilts in dB an octave the one is named that makes
// most of their spread, by its number among those given.
func TestOddOne(t *testing.T) {
	mix := invented(1, 60, flat)
	for _, c := range []struct {
		name  string
		tilts []float64
		odd   int // −1: none
	}{
		{"two", []float64{0, 5}, -1},
		{"the last", []float64{0, 0.3, 5}, 2},
		{"the first", []float64{-5, 0, 0.3}, 0},
		{"none stands out", []float64{-4, 0, 4}, -1},
		{"all near", []float64{0, 0, 1.5}, -1},
		{"one of five", []float64{0, 0.5, -4.5, 0.2, 0.1}, 2},
		{"two of five", []float64{0, 4, 4, 0.2, 0.1}, -1},
	} {
		var refs []*measure.Recording
		for i, tilt := range c.tilts {
			refs = append(refs, invented(uint64(i+2), 60, func(hz float64) float64 { return tilt * math.Log2(hz/1000) }))
		}
		odd := compare(t, mix, refs...).oddOne()
		if (odd == nil) != (c.odd < 0) || odd != nil && odd.Index != c.odd {
			t.Errorf("%s: %+v, want %d", c.name, odd, c.odd)
		}
	}
}

// How often one is named of songs by one maker, and of a stranger among them.
func TestOddOneOnSongs(t *testing.T) {
	testkit.Skip(t, "compares all songs")
	all, draws := allSongs(t), 1
	if all {
		draws = 4
	}
	around := surround(songTables(t), draws)
	for _, n := range []int{3, 5, 8} {
		named, stranger, of := 0.0, 0.0, 0.0
		for _, x := range around {
			if len(x.siblings) < n || len(x.others) == 0 {
				continue
			}
			odd := func(references []*measure.Recording) *OddReference {
				c, pairs, _, err := subtract(x.song, references, DefaultCompare())
				if err != nil {
					panic(err) // the tables are ours
				}
				c.compared = pairs
				return c.oddOne()
			}
			of++
			named += one(odd(x.siblings[:n]) != nil)
			with := slices.Clone(x.siblings[:n])
			at := rand.New(rand.NewPCG(x.seed, 3)).IntN(n)
			with[at] = x.others[0]
			if o := odd(with); o != nil {
				stranger += one(o.Index == at)
			}
		}
		t.Logf("%d references: named of songs by one maker %.0f %%, a stranger among them %.0f %% (%.0f)", n, 100*named/of, 100*stranger/of, of)
		if all && named/of > 0.15 { // it says who makes the spread, not who is a stranger
			t.Errorf("%d references by one maker: one is named in %.2f", n, named/of)
		}
	}
}
