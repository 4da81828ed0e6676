package match

import (
	"math"
	"slices"

	"toneplumb/match/uncertainty"
	"toneplumb/spectrum/finding"
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
	Warnings   finding.List  // what makes it doubtful, and peaks that are too high
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
	k.Warnings = finding.List{}.With(c.findings()...)
	if c.Mix.Valid() && c.Mix.TruePeakDBTP > MostTruePeakDBTP {
		k.Warnings = finding.List{TruePeak{c.Mix.TruePeakDBTP}}.With(k.Warnings...)
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

// jointHalves returns half the interval of each zone; see [uncertainty.JointHalves].
func (c *Comparison) jointHalves() []float64 {
	zones := c.zoneBands()
	pairs := c.blocks()
	rows := uncertainty.Replicates(pairs, func(d *uncertainty.Draws) []float64 {
		difference := make([]float64, len(c.DifferenceDB))
		for i, p := range pairs {
			mix, ref := c.levels(p.Mix.Mean(d.Mix[i])), c.levels(p.Reference.Mean(d.Ref[i]))
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
	return uncertainty.JointHalves(pairs, rows)
}

// meanAt returns the mean over some bands, NaN of none.
func meanAt(db []float64, bands []int) float64 {
	sum := 0.0
	for _, b := range bands {
		sum += db[b]
	}
	return sum / float64(len(bands)) // 0/0 is NaN
}
