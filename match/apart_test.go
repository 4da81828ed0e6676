package match

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/testkit"
)

// TestApart measures how far apart songs are: the distances quoted in texts and limits.
func TestApart(t *testing.T) {
	testkit.Skip(t, "compares all songs")
	all, songs := allSongs(t), songTables(t)
	byMaker := map[string][]float64{}
	var otherDB []weighted
	for i, a := range songs {
		for _, b := range songs[:i] {
			if makerOf(a) != makerOf(b) && packageOf(a) == packageOf(b) {
				continue // perhaps one maker, perhaps not
			}
			c, _, _, err := subtract(a, []*measure.Recording{b}, DefaultCompare())
			switch {
			case err != nil || c.SameSong[0]: // a piece that two packages have
			case makerOf(a) == makerOf(b):
				byMaker[makerOf(a)] = append(byMaker[makerOf(a)], c.judged.Distance(c.DifferenceDB))
			default:
				otherDB = append(otherDB, weighted{c.judged.Distance(c.DifferenceDB), 1})
			}
		}
	}
	var sameDB []weighted
	for _, distances := range byMaker {
		for _, db := range distances {
			sameDB = append(sameDB, weighted{db, 1 / float64(len(distances))})
		}
	}
	shares := []float64{0.10, 0.25, 0.50, 0.75, 0.90, 0.95}
	got := quantiles(sameDB, shares)
	t.Logf("shares %v; %d pairs by %d makers %.1f dB; %d pairs of different packages %.1f dB", shares, len(sameDB), len(byMaker), got, len(otherDB), quantiles(otherDB, shares))
	if !all {
		return // the figures are for all songs
	}
	const slackDB = 0.15 // rounded to 0.1, and a handful of songs more
	for i, want := range []float64{2.5, 3.3, 4.2, 5.5, 7.8, 9.7} {
		if math.Abs(got[i]-want) > slackDB {
			t.Errorf("%g of the pairs by one maker: within %.2f dB, want %g", shares[i], got[i], want)
		}
	}
}

// weighted is a value that counts for so much.
type weighted struct{ value, weight float64 }

// quantiles returns the values below which the shares of the weight lie.
func quantiles(all []weighted, shares []float64) []float64 {
	slices.SortFunc(all, func(a, b weighted) int { return cmp.Compare(a.value, b.value) })
	total := 0.0
	for _, w := range all {
		total += w.weight
	}
	var out []float64
	for _, share := range shares {
		below, at := 0.0, 0
		for at < len(all)-1 && below+all[at].weight/2 < share*total {
			below += all[at].weight
			at++
		}
		out = append(out, all[at].value)
	}
	return out
}
