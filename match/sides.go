package match

import (
	"math"
	"slices"

	"toneplumb/match/uncertainty"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// sidesApartDB is by how much side and mid must differ in a zone to be reported. Our
// choice: less is a matter of width more than of tone.
const sidesApartDB = 2

// SideVerdict is how side (half the difference of the channels) and mid (half their sum)
// differ in a zone from the references that are not mono: their level less the mix's in dB, at
// equal level of the whole. HalfDB is half the joint 95 % interval of SidesDB − MiddleDB,
// SumHalfDB that of SidesDB + MiddleDB. WholeDB is the zone's difference of mid and side together,
// from all references, which is what an equaliser would follow.
type SideVerdict struct {
	Zone
	MiddleDB, SidesDB, HalfDB, SumHalfDB, WholeDB float64
	JudgedHz                                      [2]float64 // where the zone's judged bands begin and end

	Bounded bool // side or mid counts as mostWidthDB below the other, though in most of the zone it is lower still
}

// SetSides sets k.Sides, the zones in which side and mid differ by different amounts.
func (k *Check) SetSides() { k.Sides = k.sideVerdicts() }

// SetSides sets r.Sides, the zones in which side and mid differ by different amounts.
func (r *Result) SetSides() { r.Sides = r.sideVerdicts() }

// sideVerdicts returns the zones in which side and mid differ by more than sidesApartDB and by
// more than chance explains. A side or mid more than mostWidthDB below the other is hardly
// heard, whatever its tone, so it counts as mostWidthDB below. A mono mix has none, and mono references
// are left out: they say nothing about width.
func (c *Comparison) sideVerdicts() []SideVerdict {
	stereo := *c
	stereo.compared = slices.DeleteFunc(slices.Clone(c.compared), func(p pair) bool { return p.of.Stereo().IsMono() })
	if len(stereo.compared) == 0 || c.Mix.Stereo().IsMono() {
		return nil
	}
	zones := c.zoneBands()
	mids, sides := stereo.cut((*measure.Recording).Mid), stereo.cut((*measure.Recording).Side)
	// means returns the zones' means of mid, then those of side.
	means := func(d *uncertainty.Draws) []float64 {
		middle, outer := make([]float64, len(c.DifferenceDB)), make([]float64, len(c.DifferenceDB))
		for i := range mids {
			mixMid, mixSide := c.middleAndSides(mids[i].Mix.Mean(d.Mix[i]), sides[i].Mix.Mean(d.Mix[i]))
			refMid, refSide := c.middleAndSides(mids[i].Reference.Mean(d.Ref[i]), sides[i].Reference.Mean(d.Ref[i]))
			for b := range middle {
				middle[b] += (refMid[b] - mixMid[b]) / float64(len(mids))
				outer[b] += (refSide[b] - mixSide[b]) / float64(len(mids))
			}
		}
		c.smoother.Smooth(middle, middle)
		c.smoother.Smooth(outer, outer)
		all := make([]float64, 2*len(zones))
		for i, bands := range zones {
			all[i], all[len(zones)+i] = spectrum.MeanAt(middle, bands), spectrum.MeanAt(outer, bands)
		}
		return all
	}
	pairs := stereo.blocks()
	is := means(uncertainty.Once(pairs))
	drawn := uncertainty.Replicates(pairs, means)
	// halves returns half the joint intervals of the zones' side plus sign times mid.
	halves := func(sign float64) []float64 {
		rows := make([][]float64, len(drawn))
		for k, row := range drawn {
			for i := range zones {
				rows[k] = append(rows[k], row[len(zones)+i]+sign*row[i])
			}
		}
		return uncertainty.JointHalves(pairs, rows)
	}
	apartHalves, sumHalves := halves(-1), halves(1)
	bounded := make([]float64, len(c.DifferenceDB)) // 1 where the bound holds for a recording
	once := uncertainty.Once(pairs)
	for i := range mids {
		mixMid, mixSide := mids[i].Mix.Mean(once.Mix[i]), sides[i].Mix.Mean(once.Mix[i])
		refMid, refSide := mids[i].Reference.Mean(once.Ref[i]), sides[i].Reference.Mean(once.Ref[i])
		for b := range bounded {
			if tooWide(mixMid[b], mixSide[b]) || tooWide(refMid[b], refSide[b]) {
				bounded[b] = 1
			}
		}
	}
	var all []SideVerdict
	for i, z := range Zones() {
		v := SideVerdict{Zone: z, MiddleDB: is[i], SidesDB: is[len(zones)+i], HalfDB: apartHalves[i], SumHalfDB: sumHalves[i], WholeDB: spectrum.MeanAt(c.DifferenceDB, zones[i])}
		v.JudgedHz[0], v.JudgedHz[1] = c.JudgedHzOf(z)
		v.Bounded = spectrum.MeanAt(bounded, zones[i]) > 0.5
		if apart := math.Abs(v.SidesDB - v.MiddleDB); apart > sidesApartDB && apart > v.HalfDB {
			all = append(all, v)
		}
	}
	return all
}

// cut returns the mix and each reference in blocks of their mid or side.
func (c *Comparison) cut(half func(*measure.Recording) *measure.Recording) []uncertainty.Pair {
	mix := half(c.Mix)
	var pairs []uncertainty.Pair
	for _, p := range c.compared {
		pairs = append(pairs, uncertainty.Cut(mix, half(p.of), p.mixWeights, p.refWeights, p.copied))
	}
	return pairs
}

// middleAndSides returns the levels of mid and side in dB per band, less the mean level of
// both together over the judged bands.
func (c *Comparison) middleAndSides(mid, side []float64) (midDB, sideDB []float64) {
	both := make([]float64, len(mid))
	for b := range both {
		both[b] = 2 * (mid[b] + side[b])
	}
	level, _ := c.judged.Mean(c.levels(both), 0, math.Inf(1))
	bound := spectrum.DBToPower(-mostWidthDB)
	midDB, sideDB = make([]float64, len(mid)), make([]float64, len(mid))
	for b := range both {
		midDB[b] = decibel(max(mid[b], bound*side[b])) - level
		sideDB[b] = decibel(max(side[b], bound*mid[b])) - level
	}
	return midDB, sideDB
}

// tooWide reports whether mid or side is more than mostWidthDB below the other.
func tooWide(mid, side float64) bool {
	return min(mid, side) < spectrum.DBToPower(-mostWidthDB)*max(mid, side)
}

// SideFinding describes neighbouring zones in which side and mid are off in the same way.
type SideFinding struct {
	Zones  []SideVerdict
	Kind   SideKind
	SideDB float64 // mean of the mix less the references: positive is too much
	MidDB  float64 // likewise

	Bounded bool // side and mid are farther apart than these two say
}

// SideKind says what the differences of side and mid mean for an equaliser on the master, which
// moves both.
type SideKind uint8

const (
	Unequal  SideKind = iota // both are off the same way, but not equally
	SideOnly                 // only the side: that is width, not tone
	MidOnly                  // mostly the mid
	Opposite                 // they are off in opposite ways: an equaliser cannot mend that
)

// Code returns the kind as it is written in JSON.
func (k SideKind) Code() string {
	return [...]string{"unequal", "side-only", "mid-only", "opposite"}[k]
}

// SideFindings joins neighbouring zones in which side and mid are off in the same way.
func SideFindings(zones []SideVerdict) []SideFinding {
	var all []SideFinding
	for from := 0; from < len(zones); {
		to := from + 1
		for to < len(zones) && zones[to-1].joins(zones[to]) {
			to++
		}
		kind, _ := zones[from].kind()
		f := SideFinding{Zones: zones[from:to], Kind: kind}
		for _, z := range f.Zones {
			f.SideDB -= z.SidesDB / float64(len(f.Zones))
			f.MidDB -= z.MiddleDB / float64(len(f.Zones))
			f.Bounded = f.Bounded || z.Bounded
		}
		all = append(all, f)
		from = to
	}
	return all
}

// kind returns what is wrong with a zone. missing reports whether the mix has too little
// there rather than too much; for Opposite, in the side. When they are off in opposite ways, and the
// likely range leaves open which is further off, it is Opposite: chance must not decide the advice.
func (v SideVerdict) kind() (kind SideKind, missing bool) {
	half := math.Abs(v.SidesDB-v.MiddleDB) / 2
	kind, missing = Unequal, v.SidesDB > 0
	switch sum := math.Abs(v.SidesDB + v.MiddleDB); { // of opposite signs: by how much one is further off
	case opposed(v.SidesDB, v.MiddleDB) && sum < v.SumHalfDB:
		return Opposite, missing
	case math.Abs(v.MiddleDB) < half:
		kind = SideOnly
	case math.Abs(v.SidesDB) < half:
		kind, missing = MidOnly, v.MiddleDB > 0
	case v.SidesDB*v.MiddleDB < 0:
		return Opposite, missing
	}
	// Nobody boosts a zone that has too much, nor cuts one that has too little.
	lift := -1.0
	if missing {
		lift = 1
	}
	if kind != Unequal && opposed(lift, v.WholeDB) {
		return Opposite, v.SidesDB > 0
	}
	return kind, missing
}

// opposed reports whether two differences have opposite signs and neither [IsLevel].
func opposed(a, b float64) bool { return a*b < 0 && !IsLevel(a) && !IsLevel(b) }

// joins reports whether a neighbour can share a zone's finding.
func (v SideVerdict) joins(next SideVerdict) bool {
	kind, missing := v.kind()
	nextKind, nextMissing := next.kind()
	return v.HighHz == next.LowHz && kind == nextKind && missing == nextMissing &&
		!opposed(v.SidesDB, next.SidesDB) && !opposed(v.MiddleDB, next.MiddleDB)
}

// IsLevel reports whether a difference is below 0.5 dB, too small to mention. Our choice.
func IsLevel(db float64) bool { return math.Abs(db) < 0.5 }
