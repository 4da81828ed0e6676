package match

import (
	"math"
	"slices"

	"toneplumb/match/uncertainty"
	"toneplumb/spectrum"
	"toneplumb/spectrum/finding"
)

// Verdict says how near a mix is to its references in a zone, or as a whole.
type Verdict uint8

const (
	NearEnough Verdict = iota // the difference is within the tolerance, and so is half its interval
	Differs                   // the whole interval is outside the tolerance
	CannotTell                // neither, or the zone is left out
	Unusual                   // within the tolerance, but beyond what nine of ten songs differ by
)

// String returns the verdict in words, as it is written in JSON too.
func (v Verdict) String() string {
	return [...]string{"near enough", "off", "too close to call", "unusual"}[v]
}

// ZoneVerdict is the verdict on a zone. The difference is the references' level less
// the mix's in dB, ignoring level. LowDB to HighDB is its likely range (95 %) jointly: in 95 %
// of cases the ranges of all zones hold the truth at once. NaN if the zone is left out.
type ZoneVerdict struct {
	Zone
	DifferenceDB, LowDB, HighDB float64
	ToleranceDB                 float64 // either way, in all zones at once; see songSpreadDB
	UsualDB                     float64 // what nine of ten songs by one maker keep to in this zone alone
	Verdict                     Verdict
	Why                         Doubt     // for CannotTell
	LeftOut                     Exclusion // for LeftOutZone: why most of the zone is left out
}

// WideOnly reports whether a zone is near enough only since songs differ much there, so that it says little:
// it is farther off than any move that a master bus usually takes. A tolerance that was asked for is never wide.
func (z ZoneVerdict) WideOnly() bool {
	return z.Verdict == NearEnough && math.Abs(z.DifferenceDB) > largeDB && z.UsualDB < z.ToleranceDB
}

// Doubt is why a zone has no verdict.
type Doubt uint8

const (
	NoDoubt      Doubt = iota // there is a verdict
	LeftOutZone               // too little of the zone is judged
	TooUncertain              // the interval is too wide to decide
)

// String returns the doubt in words, as it is written in JSON too; "" for none.
func (d Doubt) String() string { return [...]string{"", "left out", "too uncertain"}[d] }

// Check is a [Comparison] with its verdicts.
type Check struct {
	*Comparison
	WithinDB float64 // the tolerance that was asked for; 0: learned from songs

	Zones   []ZoneVerdict
	Verdict Verdict // Differs if a zone does, else CannotTell if a zone is too uncertain, else Unusual if one is

	OwnSong    bool          // all references are the mix's own song: the tolerance is OwnSongDB
	DistanceDB float64       // rms of the difference, mean removed
	Sides      []SideVerdict // zones in which side and mid differ by different amounts; see SetSides
	Since      *Progress     // since an earlier mix; see SetBefore
	Warnings   finding.List  // reasons for doubt, and peaks that are too high
}

// Verdict decides for each zone whether the mix is near enough to the references. withinDB is
// the tolerance in dB either way; 0 takes the spread of songs by one maker (see
// testdata/README.md, "Decision 2: what is near enough"), or [OwnSongDB] for the mix's own song.
func (c *Comparison) Verdict(withinDB float64) *Check {
	k := &Check{Comparison: c, WithinDB: withinDB, DistanceDB: c.judged.Distance(c.DifferenceDB), OwnSong: c.ownSong()}
	halves := c.jointHalves()
	tolerances, usual := c.tolerances(withinDB)
	for i, bands := range c.zoneBands() {
		z := ZoneVerdict{Zone: Zones()[i], ToleranceDB: tolerances[i], UsualDB: usual[i],
			DifferenceDB: math.NaN(), LowDB: math.NaN(), HighDB: math.NaN(), Verdict: CannotTell, Why: LeftOutZone}
		if bands == nil {
			z.LeftOut = c.mostlyLeftOut(z.Zone)
		} else {
			z.DifferenceDB = spectrum.MeanAt(c.DifferenceDB, bands)
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

// judge sets the verdict from the interval. Our choice: Differs needs proof, NearEnough only
// a measurement as fine as the tolerance. If NearEnough needed the whole interval inside, little
// could ever be said about two songs: half an interval is 1 to 2 dB with some minutes of each.
// Unusual points at a zone that would pass only because seven zones are judged at once.
func (z *ZoneVerdict) judge() {
	z.Verdict, z.Why = CannotTell, TooUncertain
	switch half := (z.HighDB - z.LowDB) / 2; {
	case z.LowDB > z.ToleranceDB || z.HighDB < -z.ToleranceDB:
		z.Verdict, z.Why = Differs, NoDoubt
	case math.Abs(z.DifferenceDB) <= z.ToleranceDB && half <= z.ToleranceDB:
		z.Verdict, z.Why = NearEnough, NoDoubt
		if math.Abs(z.DifferenceDB) > z.UsualDB {
			z.Verdict = Unusual
		}
	}
}

// onTheWhole returns the verdict over all zones. Zones that are left out are ignored, unless
// all are.
func onTheWhole(zones []ZoneVerdict) Verdict {
	has := func(v Verdict, why Doubt) bool {
		return slices.ContainsFunc(zones, func(z ZoneVerdict) bool { return z.Verdict == v && z.Why == why })
	}
	switch {
	case has(Differs, NoDoubt):
		return Differs
	case has(CannotTell, TooUncertain):
		return CannotTell
	case has(Unusual, NoDoubt):
		return Unusual
	case !has(NearEnough, NoDoubt):
		return CannotTell
	}
	return NearEnough
}

// jointHalves returns half the joint likely range of each zone; see [uncertainty.JointHalves].
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
			means[i] = spectrum.MeanAt(difference, bands)
		}
		return means
	})
	return uncertainty.JointHalves(pairs, rows)
}
