package match

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"sync"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/testkit"
)

// What check says of finished songs beside others by the same maker. The tables are in
// testdata/README.md.

// surroundings are a song's siblings, and the songs of other packages, by lot.
type surroundings struct {
	song             *measure.Recording
	siblings, others []*measure.Recording
	heldOut          bool
	seed             uint64
}

// surround returns up to mostOfMaker songs of each maker, each drawn as often as asked.
func surround(songs []*measure.Recording, draws int) []surroundings {
	byMaker := map[string][]*measure.Recording{}
	for _, s := range songs {
		byMaker[makerOf(s)] = append(byMaker[makerOf(s)], s)
	}
	rng := rand.New(rand.NewPCG(21, 21))
	var all []surroundings
	for _, maker := range slices.Sorted(maps.Keys(byMaker)) {
		own := byMaker[maker]
		order := rng.Perm(len(own))
		for _, i := range order[:min(mostOfMaker, len(order))] {
			for range draws {
				x := surroundings{song: own[i], heldOut: slices.Contains(heldOut, packageOf(own[i])), seed: rng.Uint64()}
				for _, j := range rng.Perm(len(own)) {
					if j != i {
						x.siblings = append(x.siblings, own[j])
					}
				}
				for _, j := range rng.Perm(len(songs)) {
					if makerOf(songs[j]) != maker && packageOf(songs[j]) != packageOf(own[i]) {
						x.others = append(x.others, songs[j])
					}
				}
				all = append(all, x)
			}
		}
	}
	return all
}

// inParallel runs a function for 0 to n−1, as many at once as there are processors.
func inParallel(n int, run func(i int)) {
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	var wait sync.WaitGroup
	for i := range n {
		wait.Go(func() {
			free <- struct{}{}
			defer func() { <-free }()
			run(i)
		})
	}
	wait.Wait()
}

func siblings(x surroundings) []*measure.Recording { return x.siblings }
func others(x surroundings) []*measure.Recording   { return x.others }

// allSongs reports whether the tables of all songs are to be tried, which takes minutes,
// instead of those in testdata.
func allSongs(t *testing.T) bool {
	if os.Getenv("TONEPLUMB_TABLES") == "" {
		return false
	}
	if os.Getenv("TONEPLUMB_LONG") == "" {
		t.Skip("TONEPLUMB_LONG is not set")
	}
	return true
}

// verdictsWith returns what check says of a mix, with filters in it of so many dB rms each. A filter moves a band's power by its response and no interval.
func verdictsWith(mix *measure.Recording, references []*measure.Recording, faultsDB []float64, seed uint64) []Verdict {
	c, pairs, _, err := subtract(mix, references, DefaultCompare())
	if err != nil {
		panic(err) // the tables are ours
	}
	c.compared = pairs
	zones := c.Verdict(0).Zones
	var all []Verdict
	for i, db := range faultsDB {
		shift := make([]float64, spectrum.BandCount)
		if db > 0 {
			shift = c.smooth(biquad.ResponseDB(nil, fault(rand.New(rand.NewPCG(seed, uint64(i))), db), spectrum.Centres(), float64(mix.Format.RateHz)))
		}
		moved := slices.Clone(zones)
		for k, bands := range c.zoneBands() {
			if z := &moved[k]; bands != nil {
				by := spectrum.MeanAt(shift, bands)
				z.DifferenceDB, z.LowDB, z.HighDB = z.DifferenceDB-by, z.LowDB-by, z.HighDB-by
				z.judge()
			}
		}
		all = append(all, onTheWhole(moved))
		if slices.ContainsFunc(moved, func(z ZoneVerdict) bool { return z.Verdict == Unusual }) && all[i] != Differs {
			all[i] = Unusual // though another zone is too close to call
		}
	}
	return all
}

// A finished song is rarely flagged beside others by its maker, a mix with a fault often.
func TestVerdictOnSongs(t *testing.T) {
	testkit.Skip(t, "compares all songs")
	all, draws := allSongs(t), 1
	if all {
		draws = 4
	}
	around := surround(songTables(t), draws)
	faultsDB := []float64{0, 2, 4, 6}
	kinds := []struct {
		name string
		of   func(surroundings) []*measure.Recording
		n    int
	}{
		{"1 by the maker", siblings, 1}, {"2", siblings, 2}, {"3", siblings, 3}, {"5", siblings, 5}, {"8", siblings, 8},
		{"1 of another package", others, 1}, {"3", others, 3},
	}
	results := make([][][]Verdict, len(around)) // by song, kind, fault; nil where there are too few
	inParallel(len(around), func(i int) {
		for _, k := range kinds {
			var is []Verdict
			if references := k.of(around[i]); len(references) >= k.n {
				is = verdictsWith(around[i].song, references[:k.n], faultsDB, around[i].seed)
			}
			results[i] = append(results[i], is)
		}
	})
	share := func(kind, fault int, heldOut bool, of ...Verdict) (share, n float64) {
		for i, x := range around {
			if is := results[i][kind]; is != nil && (x.heldOut || !heldOut) {
				share, n = share+one(slices.Contains(of, is[fault])), n+1
			}
		}
		return share / n, n
	}
	for _, heldOut := range []bool{false, true} {
		for k, kind := range kinds {
			_, n := share(k, 0, heldOut, Differs)
			row := fmt.Sprintf("held out %-5v | %-20s | %3.0f", heldOut, kind.name, n)
			for f := range faultsDB {
				off, _ := share(k, f, heldOut, Differs)
				marked, _ := share(k, f, heldOut, Differs, Unusual)
				row += fmt.Sprintf(" | %3.0f, %3.0f %%", 100*off, 100*marked)
			}
			t.Log(row)
		}
	}
	bars := []struct {
		kind, fault int
		least, most float64
	}{{0, 0, 0, 0.15}, {1, 0, 0, 0.15}, {2, 0, 0, 0.15}, {3, 0, 0, 0.15}, {4, 0, 0, 0.10},
		{2, 3, 0.60, 1}, {3, 3, 0.60, 1}, {4, 3, 0.60, 1},
	}
	if !all { // few songs, by package instead of maker, which differ more: that it grows no worse unnoticed
		bars = bars[2:3]
		bars[0].most = 0.20
	}
	for _, bar := range bars {
		if v, _ := share(bar.kind, bar.fault, false, Differs); v < bar.least || v > bar.most {
			t.Errorf("%s, a fault of %g dB: %.3f flagged, want %g to %g", kinds[bar.kind].name, faultsDB[bar.fault], v, bar.least, bar.most)
		}
	}
}
