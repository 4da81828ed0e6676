package match

import (
	"maps"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"sync"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match/document"
	"toneplumb/match/uncertainty"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// trial is one mix beside its references, with a fault of known size in it.
type trial struct {
	kind    string // "halves" and "alternate" 10 s of one song, 1, 3 or 8 others by its "maker", one of "another" package
	mix     *measure.Recording
	refs    []*measure.Recording
	faultDB float64 // rms; 0: none
	heldOut bool
	seed    uint64
}

// mostOfMaker songs of one maker are mixes, so that none counts for too much.
const mostOfMaker = 8

// trials returns those of songs, the same on every run.
func trials(songs []*measure.Recording) []trial {
	byMaker := map[string][]*measure.Recording{}
	for _, s := range songs {
		byMaker[makerOf(s)] = append(byMaker[makerOf(s)], s)
	}
	rng := rand.New(rand.NewPCG(20, 20))
	var all []trial
	for _, maker := range slices.Sorted(maps.Keys(byMaker)) {
		own := byMaker[maker]
		order := rng.Perm(len(own))
		for _, i := range order[:min(mostOfMaker, len(order))] {
			song := own[i]
			add := func(kind string, mix *measure.Recording, refs []*measure.Recording, faultsDB ...float64) {
				for _, db := range faultsDB {
					all = append(all, trial{kind, mix, refs, db, slices.Contains(heldOut, packageOf(song)), rng.Uint64()})
				}
			}
			split := func(kind string, mine func(row int) bool) {
				add(kind, rowsOf(song, mine), []*measure.Recording{rowsOf(song, func(row int) bool { return !mine(row) })}, 2, 0)
			}
			split("halves", func(row int) bool { return row < song.Rows/2 })
			split("alternate", func(row int) bool { return row*song.RowSec/10%2 == 0 })
			var siblings, others []*measure.Recording
			for _, j := range rng.Perm(len(own)) {
				if j != i {
					siblings = append(siblings, own[j])
				}
			}
			for _, j := range rng.Perm(len(songs)) {
				if packageOf(songs[j]) != packageOf(song) {
					others = append(others, songs[j])
				}
			}
			if len(siblings) >= 1 {
				add("maker", song, siblings[:1], 2, 4, 6, 0)
			}
			if len(siblings) >= 3 {
				add("maker, 3", song, siblings[:3], 2, 4, 0)
			}
			if len(siblings) >= 8 {
				add("maker, 8", song, siblings[:8], 2, 0)
			}
			add("another", song, others[:1], 2, 4, 0)
		}
	}
	slices.SortStableFunc(all, func(a, b trial) int { return strings.Compare(a.kind, b.kind) })
	return all
}

// rule chooses moves.
type rule func(*Comparison, SolveOptions) *Result

// fourBells is the rule to beat: four bells on a share of the smoothed difference.
func fourBells(c *Comparison, o SolveOptions) *Result {
	p := c.problem(&target{db: c.DifferenceDB}, o)
	p.Equaliser.LowShelf.Count, p.Equaliser.HighShelf.Count = 0, 0
	for b := range p.TargetDB {
		p.TargetDB[b] *= o.TowardPercent / 100
	}
	return c.With(fit.Round(p, fit.Search(p, 4)[4]).Filters, o)
}

// outcome is what a trial gave, distances in dB rms.
type outcome struct {
	trial
	result              *Result
	leftDB, faultDB     float64 // between the moves and what undoes the fault; of the fault itself
	movesDB             float64
	worthDB             float64   // of the least useful move
	against, beyond     float64   // share of the judged bands where the target is against a sure difference, or over 0.5 dB beyond it
	zones, zonesAgainst float64   // judged, and of them where moves are over 0.5 dB against the difference
	undone              bool      // a move of whose gain all moves together do less than leastShown where it works
	fights              bool      // or repeats: two moves do
	held                []float64 // of each move: 1 where its likely range holds the gain that undoes the fault
}

// try runs a trial.
func (x trial) try(stage Stage, towardPercent float64, solve rule) outcome {
	mix := x.mix
	truth := make([]float64, spectrum.BandCount)
	if x.faultDB > 0 {
		filters := fault(rand.New(rand.NewPCG(x.seed, 1)), x.faultDB)
		truth = biquad.ResponseDB(nil, filters, spectrum.Centres(), float64(mix.Format.RateHz))
		mix = mix.Through((&document.Settings{RateHz: float64(mix.Format.RateHz), Moves: filters}).PowerGain())
	}
	c, err := Compare(mix, x.refs, DefaultCompare())
	if err != nil {
		panic(err) // the tables are ours
	}
	o := DefaultSolve()
	o.Stage, o.TowardPercent = stage, towardPercent
	r := solve(c, o)
	filters := r.filters()
	does := c.smooth(c.response(filters))
	rest := c.smooth(truth)
	out := outcome{trial: x, result: r, faultDB: c.judged.Distance(rest), movesDB: c.judged.Distance(does)}
	for b := range rest {
		rest[b] += does[b] // the moves take the fault back
	}
	out.leftDB = c.judged.Distance(rest)
	for b, yes := range c.judged {
		if yes {
			d, target := c.DifferenceDB[b], 100/towardPercent*r.TargetDB[b]
			if share := 1 / float64(c.judged.Count()); target*d < 0 && math.Abs(d) > uncertainty.Factor95*c.uncertainty.SDDB[b] && math.Abs(target) > 0.05 {
				out.against += share
			} else if math.Abs(target) > math.Abs(d)+0.5 {
				out.beyond += share
			}
		}
	}
	for _, z := range r.Zones {
		if !math.IsNaN(z.DifferenceDB) {
			out.zones++
			if z.DifferenceDB*z.FittedDB < 0 && math.Abs(z.FittedDB) > 0.5 {
				out.zonesAgainst++
			}
		}
	}
	if len(filters) == 0 {
		return out
	}
	out.worthDB = c.worthDB(filters, towardPercent/100)
	out.undone = slices.ContainsFunc(filters, func(f biquad.Filter) bool {
		from, to := reach(f)
		all, _ := c.judged.Mean(r.FittedDB, from, to)
		return all/f.GainDB < leastShown-0.02 // FittedDB is level with the smoothed response, the rule with the plain one
	})
	for i, f := range filters {
		for _, g := range filters[:i] {
			out.fights = out.fights || fights(f, g) || repeats(f, g)
		}
	}
	if solver, ok := c.gainSolver(filters, c.uncertainty.Points); ok {
		undoes := c.smooth(truth)
		for i, m := range r.Moves {
			gain := 0.0
			for k, b := range c.uncertainty.Points {
				gain -= towardPercent / 100 * solver.At(i, k) * undoes[b]
			}
			out.held = append(out.held, one(gain >= m.GainLowDB && gain <= m.GainHighDB))
		}
	}
	return out
}

func (r *Result) filters() []biquad.Filter {
	var all []biquad.Filter
	for _, m := range r.Moves {
		all = append(all, m.Filter)
	}
	return all
}

func one(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}

// tryAll runs the trials of a kind and fault, as many at once as there are processors.
func tryAll(all []trial, kind string, faultDB float64, stage Stage, towardPercent float64, solve rule) []outcome {
	var some []trial
	for _, x := range all {
		if x.kind == kind && x.faultDB == faultDB {
			some = append(some, x)
		}
	}
	out := make([]outcome, len(some))
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	var wait sync.WaitGroup
	for i, x := range some {
		wait.Go(func() {
			free <- struct{}{}
			defer func() { <-free }()
			out[i] = x.try(stage, towardPercent, solve)
		})
	}
	wait.Wait()
	return out
}
