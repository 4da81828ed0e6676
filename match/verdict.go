package match

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"toneplumb/spectrum"
)

// Verdict says how a mix stands in a zone, or on the whole.
type Verdict uint8

const (
	NearEnough Verdict = iota // the difference lies within the tolerance, and half its interval is no more
	Differs                   // the whole interval lies outside the tolerance
	CannotTell                // neither, or the zone is left out
)

// String is the verdict in words, which the JSON has too.
func (v Verdict) String() string { return [...]string{"near enough", "off", "too close to call"}[v] }

// ZoneVerdict is what is said of a zone. The difference is the references' level less
// the mix's in dB, level ignored. All intervals hold the truth at once 19 times in
// 20. NaN where the zone is left out.
type ZoneVerdict struct {
	Zone
	DifferenceDB, LowDB, HighDB float64
	ToleranceDB                 float64 // either way; see songSpreadDB
	Verdict                     Verdict
	Why                         Doubt // of CannotTell
}

// Doubt is why nothing can be said of a zone.
type Doubt uint8

const (
	NoDoubt Doubt = iota
	LeftOutZone
	TooUncertain
)

// String is the doubt in words, which the JSON has too; "" for none.
func (d Doubt) String() string { return [...]string{"", "left out", "too uncertain"}[d] }

// Check is a comparison with its verdicts.
type Check struct {
	*Comparison
	WithinDB float64 // the tolerance that was asked for; 0: by the rule of tolerances

	Zones   []ZoneVerdict
	Verdict Verdict // Differs if a zone does, else CannotTell if it is so of a zone

	OwnSong    bool          // all references are the mix's own song: the tolerance is OwnSongDB
	DistanceDB float64       // rms of the difference, mean removed
	Sides      []SideVerdict // zones in which the sides differ from the middle; see SetSides
	Since      *Progress     // since an earlier mix; see SetBefore
	Warnings   Findings      // what makes it doubtful, and peaks that are too high
}

// Verdict says of each zone whether the mix is near enough to the references. It is
// within withinDB, above 0, if given; 0 takes the rule of tolerances.
func (c *Comparison) Verdict(withinDB float64) *Check {
	k := &Check{Comparison: c, WithinDB: withinDB, DistanceDB: c.judged.Distance(c.DifferenceDB), OwnSong: c.ownSong()}
	halves, tolerances := c.jointHalves(), c.tolerances(withinDB)
	for i, bands := range c.zoneBands() {
		z := ZoneVerdict{Zone: Zones()[i], ToleranceDB: tolerances[i],
			DifferenceDB: math.NaN(), LowDB: math.NaN(), HighDB: math.NaN(), Verdict: CannotTell, Why: LeftOutZone}
		if bands != nil {
			z.DifferenceDB = meanAt(c.DifferenceDB, bands)
			z.LowDB, z.HighDB = z.DifferenceDB-halves[i], z.DifferenceDB+halves[i]
			z.judge()
		}
		k.Zones = append(k.Zones, z)
	}
	k.Verdict = onTheWhole(k.Zones)
	k.Warnings = Findings{}.With(c.findings()...)
	if c.Mix.Valid() && c.Mix.TruePeakDBTP > MostTruePeakDBTP {
		k.Warnings = Findings{TruePeak{c.Mix.TruePeakDBTP}}.With(k.Warnings...)
	}
	return k
}

// judge sets the verdict by where the interval lies. Our choice: "differs" needs proof,
// "near enough" a measurement as fine as the tolerance. Were it to need the whole
// interval inside, little could ever be said of two songs: half an interval is 1 to 2 dB
// with some minutes of each.
func (z *ZoneVerdict) judge() {
	z.Verdict, z.Why = CannotTell, TooUncertain
	switch half := (z.HighDB - z.LowDB) / 2; {
	case z.LowDB > z.ToleranceDB || z.HighDB < -z.ToleranceDB:
		z.Verdict, z.Why = Differs, NoDoubt
	case math.Abs(z.DifferenceDB) <= z.ToleranceDB && half <= z.ToleranceDB:
		z.Verdict, z.Why = NearEnough, NoDoubt
	}
}

// onTheWhole is the verdict over zones. One that is left out says nothing, unless all
// are.
func onTheWhole(zones []ZoneVerdict) Verdict {
	has := func(v Verdict, why Doubt) bool {
		return slices.ContainsFunc(zones, func(z ZoneVerdict) bool { return z.Verdict == v && z.Why == why })
	}
	switch {
	case has(Differs, NoDoubt):
		return Differs
	case has(CannotTell, TooUncertain) || !has(NearEnough, NoDoubt):
		return CannotTell
	}
	return NearEnough
}

// jointHalves returns half the interval of each zone. All intervals together hold the
// means of other stretches of the same music in 95 % of draws: the blocks are drawn anew,
// and of each draw the zone counts that has moved furthest by its own standard
// deviation. The 95th hundredth of that many deviations is the same for all zones.
// Source: the studentised maximum of simultaneous bootstrap bands, after R. Beran,
// J. Amer. Statist. Assoc. 83 (1988), 679–686 (from memory).
func (c *Comparison) jointHalves() []float64 {
	zones := c.zoneBands()
	rows := c.drawn(func(pairs []pair, d *draws) []float64 {
		difference := make([]float64, len(c.DifferenceDB))
		for i, p := range pairs {
			mix, ref := c.levels(p.mixBlocks.mean(d.mix[i])), c.levels(p.refBlocks.mean(d.ref[i]))
			for b := range difference {
				difference[b] += (ref[b] - mix[b]) / float64(len(pairs))
			}
		}
		c.smoother.Smooth(difference, difference)
		c.judged.Centre(difference)
		means := make([]float64, len(zones))
		for i, bands := range zones {
			means[i] = meanAt(difference, bands)
		}
		return means
	})
	return c.joint(rows)
}

// drawn returns what each of the replicates gives.
func (c *Comparison) drawn(of func(pairs []pair, d *draws) []float64) [][]float64 {
	rng := rand.New(rand.NewPCG(seed, seed))
	d := newDraws(c.compared)
	rows := make([][]float64, replicates)
	for k := range rows {
		d.next(rng)
		rows[k] = of(c.compared, d)
	}
	return rows
}

// joint returns half the joint 95 % interval of values from their replicates; NaN for
// what is NaN.
func (c *Comparison) joint(rows [][]float64) []float64 {
	all := newScatter(len(rows[0]))
	for _, values := range rows {
		all.add(values)
	}
	var furthest []float64
	for _, values := range rows {
		most := 0.0
		for i, v := range values {
			if sd := all.sd(i); sd > 0 { // NaN is not
				most = max(most, math.Abs(v-all.sum[i]/all.n)/sd)
			}
		}
		furthest = append(furthest, most)
	}
	slices.Sort(furthest)
	deviations := studentQuantile(stat.Quantile(0.95, stat.Empirical, furthest, nil), c.fewestBlocks())
	factor, floorDB := smallSample(c.compared)
	halves := make([]float64, len(rows[0]))
	for i := range halves {
		halves[i] = deviations * math.Hypot(math.Sqrt(factor)*all.sd(i), floorDB)
	}
	return halves
}

// studentQuantile returns the deviations that n blocks need, whose own deviation is known by n
// values alone, where a normal distribution needs so many: Student's t, from memory.
// Without it the zones of 22 songs held the truth at once in 0.90 of divisions of 10 s;
// see TestCheckCovers.
func studentQuantile(deviations float64, n int) float64 {
	if n < 2 {
		return deviations // smallSample has a floor for that
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(n - 1)}
	return t.Quantile(distuv.UnitNormal.CDF(deviations))
}

// fewestBlocks is how many blocks there are on the side that has the fewest, of all
// pairs.
func (c *Comparison) fewestBlocks() int {
	n := math.MaxInt
	for _, p := range c.compared {
		n = min(n, len(p.mixBlocks), len(p.refBlocks))
	}
	return n
}

// mean returns the mean power of the blocks, each counted so many times.
func (d blocks) mean(times []float64) []float64 {
	power := make([]float64, spectrum.BandCount)
	total := d.sum(power, times)
	for b := range power {
		power[b] /= max(total, 1e-30)
	}
	return power
}

// meanAt returns the mean over some bands, NaN of none.
func meanAt(db []float64, bands []int) float64 {
	sum := 0.0
	for _, b := range bands {
		sum += db[b]
	}
	return sum / float64(len(bands)) // 0/0 is NaN
}
