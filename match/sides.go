package match

import (
	"fmt"
	"math"

	"toneplumb/spectrum"
)

// sidesApartDB is by how much sides and middle must differ in a zone to be told of. Our
// choice: less is a matter of width more than of tone.
const sidesApartDB = 2

// SideVerdict is how the sides, half the difference of the channels, and the middle,
// half their sum, stand in a zone: the references' level less the mix's at equal
// loudness of the whole. Half is of the joint 95 % interval of SidesDB − MiddleDB, and
// WholeDB the zone's difference of both together.
type SideVerdict struct {
	Zone
	MiddleDB, SidesDB, HalfDB, WholeDB float64
}

// SetSides says in which zones side and mid are off by different amounts.
func (k *Check) SetSides() { k.Sides = k.sideVerdicts() }

// SetSides says in which zones side and mid are off by different amounts.
func (r *Result) SetSides() { r.Sides = r.sideVerdicts() }

// sideVerdicts returns the zones in which sides and middle differ by more than
// sidesApartDB and more than chance makes. Where one of them is mostWidthDB under the
// other it counts as that much under: it is hardly heard, whatever its tone.
func (c *Comparison) sideVerdicts() []SideVerdict {
	zones := c.zoneBands()
	var mids, sides []pair
	mixMid, mixSide := c.Mix.Mid(), c.Mix.Side()
	for _, p := range c.compared {
		m, s := p, p
		m.mixBlocks, m.refBlocks = inBlocks(mixMid, p.of.Mid(), p.mixWeights, p.refWeights, p.copied)
		s.mixBlocks, s.refBlocks = inBlocks(mixSide, p.of.Side(), p.mixWeights, p.refWeights, p.copied)
		mids, sides = append(mids, m), append(sides, s)
	}
	// means returns the zones' middles, then their sides.
	means := func(d *draws) []float64 {
		middle, outer := make([]float64, len(c.DifferenceDB)), make([]float64, len(c.DifferenceDB))
		for i := range mids {
			mixMid, mixSide := c.middleAndSides(mids[i].mixBlocks.mean(d.mix[i]), sides[i].mixBlocks.mean(d.mix[i]))
			refMid, refSide := c.middleAndSides(mids[i].refBlocks.mean(d.ref[i]), sides[i].refBlocks.mean(d.ref[i]))
			for b := range middle {
				middle[b] += (refMid[b] - mixMid[b]) / float64(len(mids))
				outer[b] += (refSide[b] - mixSide[b]) / float64(len(mids))
			}
		}
		c.smoother.Smooth(middle, middle)
		c.smoother.Smooth(outer, outer)
		all := make([]float64, 2*len(zones))
		for i, bands := range zones {
			all[i], all[len(zones)+i] = meanAt(middle, bands), meanAt(outer, bands)
		}
		return all
	}
	once := newDraws(c.compared)
	for i := range c.compared {
		for _, times := range [][]float64{once.mix[i], once.ref[i]} {
			for k := range times {
				times[k] = 1
			}
		}
	}
	is := means(once)
	halves := c.joint(c.drawn(func(_ []pair, d *draws) []float64 {
		drawn, apart := means(d), make([]float64, len(zones))
		for i := range zones {
			apart[i] = drawn[len(zones)+i] - drawn[i]
		}
		return apart
	}))
	var all []SideVerdict
	for i, z := range Zones() {
		v := SideVerdict{Zone: z, MiddleDB: is[i], SidesDB: is[len(zones)+i], HalfDB: halves[i], WholeDB: meanAt(c.DifferenceDB, zones[i])}
		if apart := math.Abs(v.SidesDB - v.MiddleDB); apart > sidesApartDB && apart > v.HalfDB {
			all = append(all, v)
		}
	}
	return all
}

// middleAndSides returns the levels of both in dB, less the mean level of their sum over
// the judged bands.
func (c *Comparison) middleAndSides(mid, side []float64) (midDB, sideDB []float64) {
	both := make([]float64, len(mid))
	for b := range both {
		both[b] = 2 * (mid[b] + side[b])
	}
	level, _ := c.judgedMean(c.levels(both), 0, math.Inf(1))
	bound := spectrum.DBToPower(-mostWidthDB)
	midDB, sideDB = make([]float64, len(mid)), make([]float64, len(mid))
	for b := range both {
		midDB[b] = decibel(max(mid[b], bound*side[b])) - level
		sideDB[b] = decibel(max(side[b], bound*mid[b])) - level
	}
	return midDB, sideDB
}

// SideSentences says what the zones mean for an equaliser on the master.
func (k *Check) SideSentences() []string { return SideSentences(k.Sides) }

// SideSentences says what zones in which side and mid are off by different amounts mean
// for an equaliser on the master. Neighbouring zones of which the same is true share a
// sentence.
func SideSentences(zones []SideVerdict) []string {
	var sentences []string
	for from := 0; from < len(zones); {
		to := from + 1
		for to < len(zones) && zones[to-1].joins(zones[to]) {
			to++
		}
		sentences = append(sentences, sideSentence(zones[from:to]))
		from = to
	}
	return sentences
}

// sideKind is what is wrong with a zone.
type sideKind struct {
	where    string // "at the sides", "in the middle", or "" where both are off
	missing  bool   // else too strong; of both ways: at the sides
	bothWays bool   // one is missing, the other too strong
}

func (v SideVerdict) kind() sideKind {
	half := math.Abs(v.SidesDB-v.MiddleDB) / 2
	kind := sideKind{"", v.SidesDB > 0, v.SidesDB*v.MiddleDB < 0}
	switch {
	case math.Abs(v.MiddleDB) < half:
		kind = sideKind{"at the sides", v.SidesDB > 0, false}
	case math.Abs(v.SidesDB) < half:
		kind = sideKind{"in the middle", v.MiddleDB > 0, false}
	}
	// Nobody lifts a zone that is over, nor cuts one that is under.
	if lift := map[bool]float64{true: 1, false: -1}[kind.missing]; kind.where != "" && opposed(lift, v.WholeDB) {
		return sideKind{"", v.SidesDB > 0, true}
	}
	return kind
}

// opposed tells whether two differences go opposite ways, neither being level.
func opposed(a, b float64) bool { return a*b < 0 && !isLevel(a) && !isLevel(b) }

// joins tells whether a neighbour can share a zone's sentence.
func (v SideVerdict) joins(next SideVerdict) bool {
	return v.HighHz == next.LowHz && v.kind() == next.kind() && !opposed(v.SidesDB, next.SidesDB) && !opposed(v.MiddleDB, next.MiddleDB)
}

// sideSentence says where neighbouring zones are off, by how much in the side and in
// the mid, and what that means. The figures are mix less reference: up is too much.
func sideSentence(zones []SideVerdict) string {
	mid, side := 0.0, 0.0
	for _, z := range zones {
		mid -= z.MiddleDB / float64(len(zones))
		side -= z.SidesDB / float64(len(zones))
	}
	where := zones[0].Name
	switch last := zones[len(zones)-1]; {
	case len(zones) == 2:
		where += " and " + last.Name
	case len(zones) > 2:
		where = Hertz(zones[0].LowHz) + " to " + Hertz(last.HighHz)
	}
	off := "too strong"
	if side+mid < 0 {
		off = "too weak"
	}
	figures := fmt.Sprintf("side %s, mid %s", upDown(side), upDown(mid))
	switch kind := zones[0].kind(); {
	case kind.where == "at the sides" && side > 0:
		return fmt.Sprintf("%s: wider than the reference (%s); that is panning or widening, not equalising", where, figures)
	case kind.where == "at the sides":
		return fmt.Sprintf("%s: narrower than the reference (%s); that is panning or widening, not equalising", where, figures)
	case kind.where == "in the middle":
		return fmt.Sprintf("%s: %s, mostly in the mid (%s); an ordinary equaliser moves both", where, off, figures)
	case kind.bothWays:
		return fmt.Sprintf("%s: side and mid are off in opposite ways (%s); an ordinary equaliser cannot mend that", where, figures)
	}
	return fmt.Sprintf("%s: %s, but not equally (%s); an ordinary equaliser moves both", where, off, figures)
}

// upDown writes how far the mix is over (+) or under the reference.
func upDown(db float64) string {
	if isLevel(db) {
		return "the same"
	}
	return Gain(db) + " dB"
}

// isLevel tells whether a difference is too small to speak of. Our choice.
func isLevel(db float64) bool { return math.Abs(db) < 0.5 }
