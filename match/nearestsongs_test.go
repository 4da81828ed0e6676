package match

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"testing"

	"toneplumb/spectrum/testkit"
)

// A song by the mix's maker should come first of three by that maker and seven of
// other packages; by lot it would in 30 %.
func TestNearestOnSongs(t *testing.T) {
	testkit.Skip(t, "compares all songs")
	const siblings, others = 3, 7
	draws := 1
	if allSongs(t) {
		draws = 4
	}
	around := slices.DeleteFunc(surround(songTables(t), draws), func(x surroundings) bool { return len(x.siblings) < siblings || len(x.others) < others })
	mixLUFS := func(i int) float64 { return around[i].song.LoudnessLUFS }
	ranks := []struct {
		name  string
		apart func(i int, n RankedReference) float64 // of song i; nil: as Nearest ranks
	}{
		{"distance", func(_ int, n RankedReference) float64 { return n.DistanceDB }},
		{"and half the low end and width", func(_ int, n RankedReference) float64 { return n.DistanceDB + n.LowEndDB/2 + n.WidthDB/2 }},
		{"and half the width", func(_ int, n RankedReference) float64 { return n.DistanceDB + n.WidthDB/2 }},
		{"and a third of the range: as ranked", nil},
		{"and half the loudness", func(i int, n RankedReference) float64 {
			return n.ApartDB + math.Abs(n.Reference.LoudnessLUFS-mixLUFS(i))/2
		}},
	}
	type found struct{ first, auc float64 }
	results := make([][]found, len(around)) // by song and rank
	inParallel(len(around), func(i int) {
		x := around[i]
		all, err := Nearest(x.song, slices.Concat(x.siblings[:siblings], x.others[:others]), DefaultCompare())
		if err != nil {
			panic(err) // the tables are ours
		}
		for _, rank := range ranks {
			order := slices.Clone(all)
			if rank.apart != nil {
				slices.SortStableFunc(order, func(a, b RankedReference) int { return cmp.Compare(rank.apart(i, a), rank.apart(i, b)) })
			}
			f := found{first: one(order[0].Index < siblings)}
			for p, n := range order {
				for _, later := range order[p+1:] {
					f.auc += one(n.Index < siblings && later.Index >= siblings) / (siblings * others)
				}
			}
			results[i] = append(results[i], f)
		}
	})
	first := make([]float64, len(ranks)) // of all songs
	for k, rank := range ranks {
		row := fmt.Sprintf("%-36s", rank.name)
		for _, heldOut := range []bool{true, false} {
			auc, n := 0.0, 0.0
			first[k] = 0
			for i, x := range around {
				if x.heldOut || !heldOut {
					first[k], auc, n = first[k]+results[i][k].first, auc+results[i][k].auc, n+1
				}
			}
			first[k] /= n
			row += fmt.Sprintf(" | held out %v: first %2.0f %%, AUC %.2f (%.0f)", heldOut, 100*first[k], auc/n, n)
		}
		t.Log(row)
	}
	if asRanked := first[3]; asRanked < first[0] || asRanked < 0.5 {
		t.Errorf("as ranked the same maker comes first in %.2f, by distance alone in %.2f; want more than that, and than 0.50", asRanked, first[0])
	}
}
