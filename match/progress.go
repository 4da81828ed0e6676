package match

import (
	"math"

	"toneplumb/spectrum"
	"toneplumb/spectrum/align"
)

// Progress is what has moved since an earlier mix, held against the same references
// over the bands that are judged of both.
type Progress struct {
	Before                        *Comparison
	Zones                         []ZoneProgress
	DistanceThenDB, DistanceNowDB float64 // mean removed
	SameSong                      bool    // the two mixes are one song
}

// ZoneProgress is how a zone has moved: the differences, references less mix, at equal
// loudness; NaN where nothing is judged of one of the two.
type ZoneProgress struct {
	Zone
	ThenDB, NowDB float64
}

// MovedDB is by how much the mix has come up in the zone.
func (z ZoneProgress) MovedDB() float64 { return z.ThenDB - z.NowDB }

// Nearness says what has become of a distance.
type Nearness uint8

const (
	AsBefore Nearness = iota
	Nearer
	FurtherOff
)

// String is the nearness in words, which the JSON has too.
func (n Nearness) String() string { return [...]string{"as before", "nearer", "further off"}[n] }

// asBeforeDB is how little is no step. Our choice: half of the smallest step of the
// default equaliser in a zone; of the whole a tenth of a decibel rms, see InaudibleDB.
const asBeforeDB = 0.25

func nearness(then, now, step float64) Nearness {
	switch {
	case then-now > step:
		return Nearer
	case now-then > step:
		return FurtherOff
	}
	return AsBefore
}

// Nearness of the zone to the references.
func (z ZoneProgress) Nearness() Nearness {
	return nearness(math.Abs(z.ThenDB), math.Abs(z.NowDB), asBeforeDB)
}

// Nearness of the whole.
func (p *Progress) Nearness() Nearness {
	return nearness(p.DistanceThenDB, p.DistanceNowDB, InaudibleDB)
}

// SetBefore holds the check against the comparison of an earlier mix with the same
// references.
func (k *Check) SetBefore(before *Comparison) {
	then, now := *before, *k.Comparison
	both := make([]bool, spectrum.BandCount)
	for b := range both {
		both[b] = then.judged[b] && now.judged[b]
	}
	then.judged, now.judged = both, both
	p := &Progress{Before: before, SameSong: align.Levels(now.Mix, then.Mix, wholeGate(now.Mix), wholeGate(then.Mix)).Same}
	if then.judged.Count() > 0 {
		p.DistanceThenDB, p.DistanceNowDB = then.judged.Distance(then.DifferenceDB), now.judged.Distance(now.DifferenceDB)
	}
	bands := now.zoneBands()
	for i, z := range Zones() {
		p.Zones = append(p.Zones, ZoneProgress{z, meanAt(then.DifferenceDB, bands[i]), meanAt(now.DifferenceDB, bands[i])})
	}
	k.Since = p
}
