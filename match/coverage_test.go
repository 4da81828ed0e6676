package match

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// equalised is a recording through filters.
type equalised struct {
	audio.Source
	filters *biquad.Cascade
}

func (e *equalised) Read(dst [][]float64) (int, error) {
	n, err := e.Source.Read(dst)
	if n > 0 {
		part := make([][]float64, len(dst))
		for i := range dst {
			part[i] = dst[i][:n]
		}
		e.filters.Run(part)
	}
	return n, err
}

// drawnFilters are what a known equaliser of the coverage test does: three moves as a
// mix may need them.
func drawnFilters(rng *rand.Rand) []biquad.Filter {
	gain := func() float64 { return (1.5 + 2.5*rng.Float64()) * float64(2*rng.IntN(2)-1) }
	return []biquad.Filter{
		{Shape: biquad.LowShelf, FreqHz: 80 * math.Pow(4, rng.Float64()), GainDB: gain(), Q: math.Sqrt2 / 2},
		{Shape: biquad.Bell, FreqHz: 400 * math.Pow(6, rng.Float64()), GainDB: gain(), Q: 0.8},
		{Shape: biquad.HighShelf, FreqHz: 3000 * math.Pow(3, rng.Float64()), GainDB: gain(), Q: math.Sqrt2 / 2},
	}
}

// tableOf measures a recording through filters, its gate with each row, so that rows
// may be taken out of it.
func tableOf(t *testing.T, path string, filters []biquad.Filter) *measure.Recording {
	src, err := audio.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer src.Close()
	if len(filters) > 0 {
		src = &equalised{src, biquad.NewCascade(filters, float64(src.Format().RateHz), src.Format().Channels)}
	}
	r, err := measure.Measure(context.Background(), src, path)
	if err != nil {
		t.Fatal(err)
	}
	r.Gate = r.GateWeights()
	r.StepPower, r.StepPeak, r.OctavePower = nil, nil, nil
	return r
}

// covering is what the joint intervals of one song did: how often all held the truth, of
// how many divisions, for a copy and for one through a known equaliser.
type covering struct {
	name      string
	held, eq  int // of divisions by lot
	divisions int
	inTurn    int // of turns, in which the pieces fall to the sides in turn
	turns     int
	halves    []float64
	knownDB   float64 // furthest that the truth lies from the equaliser's response
}

// The joint intervals of a check on real songs, from the sound: pieces of 10 s fall to
// the mix or to the reference, alternately and by lot; the truth is 0, or what a known
// equaliser on one side does. TONEPLUMB_SONGS names a folder of recordings.
func TestCheckCovers(t *testing.T) {
	folder := os.Getenv("TONEPLUMB_SONGS")
	if folder == "" {
		t.Skip("TONEPLUMB_SONGS names no folder of recordings; .ci/run does")
	}
	files, err := filepath.Glob(filepath.Join(folder, "*"))
	if err != nil || len(files) == 0 {
		t.Fatalf("%s holds no recordings (%v)", folder, err)
	}
	all := make([]covering, len(files))
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	var wait sync.WaitGroup
	for i, file := range files {
		wait.Go(func() {
			free <- struct{}{}
			defer func() { <-free }()
			all[i] = cover(t, file, uint64(i))
		})
	}
	wait.Wait()
	var held, eq, inTurn, halves []float64
	for _, c := range all {
		if c.divisions == 0 {
			continue
		}
		h, e := float64(c.held)/float64(c.divisions), float64(c.eq)/float64(c.divisions)
		inTurn = append(inTurn, float64(c.inTurn)/float64(c.turns))
		held, eq, halves = append(held, h), append(eq, e), append(halves, c.halves...)
		t.Logf("%-28s copy %.2f, equaliser %.2f of %d; half an interval %.2f dB; truth within %.2f dB of the response", c.name, h, e, c.divisions, median(c.halves), c.knownDB)
	}
	// Our choice: the aim is 0.95, and a song's 12 divisions share its music.
	const leastMean, leastSong = 0.92, 0.70
	for _, row := range []struct {
		name  string
		share []float64
	}{{"in turn, copy and known equaliser", inTurn}, {"by lot, copy", held}, {"by lot, known equaliser", eq}} {
		t.Logf("%s: all zones held in %.3f on the mean over %d songs, worst song %.3f; half an interval %.2f dB in the median zone", row.name, mean(row.share), len(row.share), slices.Min(row.share), median(halves))
		if mean(row.share) < leastMean || slices.Min(row.share) < leastSong {
			t.Errorf("%s: want %g and %g", row.name, leastMean, leastSong)
		}
	}
}

func cover(t *testing.T, file string, seed uint64) covering {
	const pieceSec, divisions, leastSec = 10, 14, 80
	rng := rand.New(rand.NewPCG(seed, 99))
	out := covering{name: filepath.Base(file)}
	filters := drawnFilters(rng)
	song, through := tableOf(t, file, nil), tableOf(t, file, filters)
	if song.DurationSec < leastSec {
		return out
	}
	whole := compare(t, through, song)
	truth := whole.Verdict(0).Zones
	response := biquad.ResponseDB(nil, filters, spectrum.Centres(), whole.RateHz)
	for b := range response {
		response[b] = -response[b]
	}
	response = whole.smoother.Smooth(nil, response)
	var off []float64
	for i, bands := range whole.zoneBands() {
		if bands != nil {
			off = append(off, truth[i].DifferenceDB-spectrum.MeanAt(response, bands))
		}
	}
	out.knownDB = (slices.Max(off) - slices.Min(off)) / 2
	pieces := (song.Rows*song.RowSec + pieceSec - 1) / pieceSec
	for d := range divisions {
		side := make([]bool, pieces)
		for i := range side {
			side[i] = i%2 == d%2
		}
		if d > 1 {
			rng.Shuffle(len(side), func(i, j int) { side[i], side[j] = side[j], side[i] })
		}
		mine := func(row int) bool { return side[row*song.RowSec/pieceSec] }
		rest := func(row int) bool { return !mine(row) }
		holds := func(mix *measure.Recording, want func(i int) float64) int {
			zones := compare(t, rowsOf(mix, mine), rowsOf(song, rest)).Verdict(0).Zones
			for i, z := range zones {
				if z.Why != LeftOutZone && !math.IsNaN(want(i)) && (want(i) < z.LowDB || want(i) > z.HighDB) {
					return 0
				}
			}
			for _, z := range zones {
				if z.Why != LeftOutZone {
					out.halves = append(out.halves, (z.HighDB-z.LowDB)/2)
				}
			}
			return 1
		}
		copied, equalised := holds(song, func(int) float64 { return 0 }), holds(through, func(i int) float64 { return truth[i].DifferenceDB })
		if d < 2 {
			out.inTurn += copied + equalised
			out.turns += 2
			continue
		}
		out.held += copied
		out.eq += equalised
		out.divisions++
	}
	return out
}
