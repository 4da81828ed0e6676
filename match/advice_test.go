package match

import (
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// The advice on real music whose right answer is known: one song cut in two, one part
// through known filters, what is left between the moves and the filters. The songs'
// tables, no sound, are in testdata, see the README there, or those of more songs in the
// file that TONEPLUMB_TABLES names:
//
//	TONEPLUMB_SONGS=folder TONEPLUMB_TABLES=/tmp/all.json go test -timeout 60m -run 'TestWriteTables|TestAdvice|TestSpreadBand' -v -p 1 ./match/cli ./match

// adviceRow is one bar, for whole songs of many packages, and what the few of testdata,
// 200 s of each, must hold, so that it does not grow worse unnoticed.
type adviceRow struct {
	name     string
	value    func([]advice) float64
	bar, few bounds
}

type bounds struct{ low, high float64 }

var adviceRows = []adviceRow{
	{"alternate 10 s, known filters: moves from the truth, median dB", pick(median, interleaved), bounds{0, 0.50}, bounds{0, 0.65}},
	{"halves, known filters: median dB", pick(median, halves), bounds{0, 0.95}, bounds{0, 1.12}},
	{"halves, known filters: mean dB", pick(mean, halves), bounds{0, 1.20}, bounds{0, 1.20}},
	{"halves, known filters: worse than nothing, share", pick(mean, worse), bounds{0, 5.0 / 30}, bounds{0, 5.0 / 30}},
	{"halves, no filters: moves, median dB", pick(median, plainHalves), bounds{0, 0.72}, bounds{0, 0.72}},
	{"halves, no filters: no move, share", pick(mean, noMoveHalves), bounds{0.33, 1}, bounds{0.33, 1}},
	{"alternate 10 s, no filters: no move, share", pick(mean, noMoveInterleaved), bounds{0.75, 1}, bounds{0.75, 1}},
	{"95 % band, alternate 10 s: covered, mean", pick(mean, covered), bounds{0.93, 0.97}, bounds{0.93, 0.97}},
	// The worst song was to have 0.80. Bands of a song err together, so that draws from
	// the band's own covariance, which cover 0.95, leave 2.0 of these 31 songs and 11.6 of
	// 179 under 0.80, the worst at 0.67 and 0.44 (medians of 200): no band that is right can.
	{"95 % band, alternate 10 s: covered, worst song", pick(slices.Min[[]float64], covered), bounds{0.44, 1}, bounds{0.67, 1}},
	{"95 % band, alternate 10 s: songs covered under 0.80, share", pick(mean, uncovered), bounds{0, 11.6 / 179}, bounds{0, 2.0 / 31}},
}

// advice is what one song gave.
type advice struct {
	interleaved, halves, plainHalves float64 // dB
	worse                            float64 // 1: than doing nothing
	noMoveHalves, noMoveInterleaved  float64 // 1: yes
	covered                          float64 // share of the bands
}

func interleaved(a advice) float64       { return a.interleaved }
func halves(a advice) float64            { return a.halves }
func plainHalves(a advice) float64       { return a.plainHalves }
func worse(a advice) float64             { return a.worse }
func noMoveHalves(a advice) float64      { return a.noMoveHalves }
func noMoveInterleaved(a advice) float64 { return a.noMoveInterleaved }
func covered(a advice) float64           { return a.covered }

func uncovered(a advice) float64 {
	if a.covered < 0.80 {
		return 1
	}
	return 0
}

func pick(over func([]float64) float64, of func(advice) float64) func([]advice) float64 {
	return func(all []advice) float64 {
		var x []float64
		for _, a := range all {
			x = append(x, of(a))
		}
		return over(x)
	}
}

func median(x []float64) float64 {
	x = slices.Sorted(slices.Values(x))
	return (x[(len(x)-1)/2] + x[len(x)/2]) / 2
}

func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

func TestAdvice(t *testing.T) {
	songs := songTables(t)
	if testing.Short() {
		songs = songs[:2] // that it runs; the bars are for all
	}
	rules := map[string]rule{"": (*Comparison).Solve}
	if os.Getenv("TONEPLUMB_LONG") != "" {
		rules["BIC: "] = byCriterion
	}
	for name, solve := range rules {
		all := make([]advice, len(songs))
		free := make(chan struct{}, runtime.GOMAXPROCS(0))
		var wait sync.WaitGroup
		for i, song := range songs {
			wait.Go(func() {
				free <- struct{}{}
				defer func() { <-free }()
				all[i] = advise(t, song, uint64(i), solve)
			})
		}
		wait.Wait()
		for _, row := range adviceRows {
			v, bar := row.value(all), row.bar
			if os.Getenv("TONEPLUMB_TABLES") == "" {
				bar = row.few
			}
			t.Logf("%s%-66s %.3f (%.3g to %.3g)", name, row.name, v, bar.low, bar.high)
			if name == "" && !testing.Short() && !(v >= bar.low && v <= bar.high) {
				t.Errorf("%s: outside", row.name)
			}
		}
	}
}

// rule chooses moves.
type rule func(*Comparison, SolveOptions) *Result

// byCriterion is the rule to beat: no shrinking, and of the rounded solutions the one
// with the least Bayesian information criterion 13·ln r² + 3·K·ln 13.
// Source: G. Schwarz, Ann. Statist. 6 (1978), 461–464 (from memory).
func byCriterion(c *Comparison, o SolveOptions) *Result {
	p := c.problem(&target{db: c.DifferenceDB}, o)
	var best fit.Solution
	least := math.Inf(1)
	for _, s := range fit.Search(p, o.MaxMoves) {
		s = fit.Round(p, s)
		if bic := 13*math.Log(s.ResidualDB*s.ResidualDB+1e-6) + 3*float64(len(s.Filters))*math.Log(13); bic < least {
			best, least = s, bic
		}
	}
	return c.With(best.Filters, o)
}

// advise tries one song.
func advise(t *testing.T, song *measure.Recording, seed uint64, solve rule) advice {
	filters := knownFilters(rand.New(rand.NewPCG(seed, 77)))
	truth := biquad.ResponseDB(nil, filters, spectrum.Centres(), float64(song.Format.RateHz))
	half := func(row int) bool { return row < song.Rows/2 }
	tens := func(row int) bool { return row*song.RowSec/10%2 == 0 }
	o := DefaultSolve()
	o.TowardPercent = 100
	run := func(mine func(int) bool, filters []biquad.Filter) *Result {
		mix, ref := rowsOf(song, mine), rowsOf(song, func(row int) bool { return !mine(row) })
		mix = mix.Through((&Settings{RateHz: float64(song.Format.RateHz), Moves: filters}).PowerGain())
		c, err := Compare(mix, []*measure.Recording{ref}, DefaultCompare())
		if err != nil {
			panic(err) // the tables are ours
		}
		return solve(c, o)
	}
	apart := func(r *Result, truth []float64) float64 {
		rest := make([]float64, len(truth))
		for b := range rest {
			rest[b] = r.FittedDB[b] + truth[b] // the moves take the filters back
		}
		return r.spread(rest)
	}
	one := func(yes bool) float64 { return map[bool]float64{true: 1}[yes] }
	nothing := make([]float64, len(truth))
	var a advice
	r := run(half, filters)
	a.halves = apart(r, truth)
	a.worse = one(a.halves > r.spread(truth))
	r = run(half, nil)
	a.plainHalves, a.noMoveHalves = apart(r, nothing), one(len(r.Moves) == 0)
	r = run(tens, filters)
	a.interleaved, a.covered = apart(r, truth), r.coverage(truth)
	a.noMoveInterleaved = one(len(run(tens, nil).Moves) == 0)
	return a
}

// knownFilters returns 3 to 5 broad filters of 1.5 to 6 dB.
func knownFilters(rng *rand.Rand) []biquad.Filter {
	gain := func() float64 { return (1.5 + 4.5*rng.Float64()) * float64(1-2*rng.IntN(2)) }
	var all []biquad.Filter
	if rng.IntN(2) == 0 {
		all = append(all, biquad.Filter{Shape: biquad.LowShelf, FreqHz: 70 * math.Exp2(1.5*rng.Float64()), GainDB: gain(), Q: math.Sqrt2 / 2})
	}
	if rng.IntN(2) == 0 {
		all = append(all, biquad.Filter{Shape: biquad.HighShelf, FreqHz: 4000 * math.Exp2(1.2*rng.Float64()), GainDB: gain(), Q: math.Sqrt2 / 2})
	}
	for len(all) < 3+rng.IntN(3) {
		all = append(all, biquad.Filter{Shape: biquad.Bell, FreqHz: 80 * math.Exp2(6.5*rng.Float64()), GainDB: gain(), Q: 0.5 + 1.5*rng.Float64()})
	}
	return all
}

// rowsOf is a recording of some of the rows, one after the other.
func rowsOf(song *measure.Recording, mine func(row int) bool) *measure.Recording {
	r := *song
	r.Power, r.Width, r.Gate, r.Rows = nil, nil, nil, 0
	for row := range song.Rows {
		if mine(row) {
			r.Power = append(r.Power, song.Row(row)...)
			r.Width = append(r.Width, song.Width[row*spectrum.BandCount:][:spectrum.BandCount]...)
			r.Gate = append(r.Gate, song.Gate[row])
			r.Rows++
		}
	}
	r.DurationSec = float64(r.Rows * r.RowSec)
	return &r
}

// coverage returns the share of the judged bands in which the band holds the truth.
func (r *Result) coverage(truth []float64) float64 {
	rest := r.smoother.Smooth(nil, truth)
	for b := range rest {
		rest[b] += r.DifferenceDB[b] // NaN where left out
	}
	r.centre(rest)
	in, n := 0.0, 0.0
	for b, yes := range r.judged {
		if yes {
			n++
			if math.Abs(rest[b]) <= bandFactor*r.sure.sdDB[b] {
				in++
			}
		}
	}
	return in / n
}

func songTables(t *testing.T) []*measure.Recording {
	file := "testdata/songs.json"
	if more := os.Getenv("TONEPLUMB_TABLES"); more != "" {
		file = more
	}
	in, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	p, err := measure.ReadProfile(in, file)
	if err != nil {
		t.Fatal(err)
	}
	return p.Recordings()
}

// TestSpreadBand draws 2 to 8 songs of one package and asks whether the mean of the
// package's other songs lies in their band.
func TestSpreadBand(t *testing.T) {
	const low, high, leastRest, trials = 0.92, 0.97, 4, 60
	byPackage := map[string][]*measure.Recording{}
	for _, s := range songTables(t) {
		name, _, _ := strings.Cut(s.Path, " ")
		byPackage[name] = append(byPackage[name], s)
	}
	rng := rand.New(rand.NewPCG(4, 4))
	for count := 2; count <= 8; count++ {
		in, n := 0.0, 0.0
		for _, name := range slices.Sorted(maps.Keys(byPackage)) {
			songs := byPackage[name]
			if len(songs) < count+leastRest {
				continue
			}
			for range trials {
				order := rng.Perm(len(songs))
				var some, rest [][]float64
				c := &Comparison{Options: DefaultCompare(), LeftOut: make([]string, spectrum.BandCount), RateHz: 44100}
				for _, s := range songs {
					c.leaveOut(leftOut("one", s, s.MeanPower(s.GateWeights())))
				}
				c.judge(AdviceSmoothOct)
				for i, k := range order {
					level := c.smoother.Smooth(nil, c.levels(songs[k].MeanPower(songs[k].GateWeights())))
					c.centre(level)
					if i < count {
						some = append(some, level)
					} else {
						rest = append(rest, level)
					}
				}
				half := c.spreadHalf(some)
				// The rest are few too: their mean scatters besides.
				wider := math.Sqrt(1 + float64(len(some))/float64(len(rest)))
				for b, yes := range c.judged {
					if !yes {
						continue
					}
					var a, z []float64
					for _, l := range some {
						a = append(a, l[b])
					}
					for _, l := range rest {
						z = append(z, l[b])
					}
					n++
					if math.Abs(mean(a)-mean(z)) <= wider*half[b] {
						in++
					}
				}
			}
		}
		if n == 0 {
			t.Logf("%d references: no package has as many songs", count)
			continue
		}
		t.Logf("%d references: covered %.3f (%g to %g)", count, in/n, low, high)
		if in/n < low || in/n > high {
			t.Errorf("%d references: outside", count)
		}
	}
}
