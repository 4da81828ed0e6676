package match

import (
	"math"
	"slices"

	"toneplumb/spectrum"
	"toneplumb/spectrum/align"
)

// Progress is how the mix has changed since an earlier mix, relative to the same references,
// over the bands that are judged in both.
type Progress struct {
	Before                        *Comparison
	Zones                         []ZoneProgress
	DistanceThenDB, DistanceNowDB float64 // rms, ignoring level
	SameSong                      bool    // the two mixes are one song
	LowHz, HighHz                 float64 // what is judged in both; 0 if nothing is
	ShiftDB                       float64 // to add to Before.DifferenceDB, so that there it has the check's mean; 0 if nothing is
	Narrower                      bool    // less is judged in both than in the mix now
}

// ZoneProgress is how a zone has changed: its mean difference then and now, references less
// mix, ignoring level; NaN where one of the two is not judged.
type ZoneProgress struct {
	Zone
	ThenDB, NowDB float64
}

// MovedDB returns by how much the mix has come up in the zone.
func (z ZoneProgress) MovedDB() float64 { return z.ThenDB - z.NowDB }

// Nearness says how a distance has changed.
type Nearness uint8

const (
	AsBefore   Nearness = iota // within the smallest step worth naming
	Nearer                     // the distance is smaller
	FurtherOff                 // the distance is larger
)

// String returns the nearness in words, as it is written in JSON too.
func (n Nearness) String() string { return [...]string{"as before", "nearer", "further off"}[n] }

// asBeforeDB is the largest change of a zone that counts as none. Our choice: half of the
// smallest step of the default equaliser. For the whole it is InaudibleDB, a tenth of a
// decibel rms.
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

// Nearness returns whether the zone came nearer to the references.
func (z ZoneProgress) Nearness() Nearness {
	return nearness(math.Abs(z.ThenDB), math.Abs(z.NowDB), asBeforeDB)
}

// Nearness returns whether the whole mix came nearer to the references.
func (p *Progress) Nearness() Nearness {
	return nearness(p.DistanceThenDB, p.DistanceNowDB, InaudibleDB)
}

// SetBefore sets k.Since by the comparison of an earlier mix with the same references.
func (k *Check) SetBefore(before *Comparison) {
	then, now := *before, *k.Comparison
	both := make([]bool, spectrum.BandCount)
	for b := range both {
		both[b] = then.judged[b] && now.judged[b]
	}
	p := &Progress{Before: before, SameSong: align.Levels(now.Mix, then.Mix, wholeGate(now.Mix), wholeGate(then.Mix)).Same}
	p.Narrower = !slices.Equal(both, now.judged)
	then.judged, now.judged = both, both
	p.LowHz, p.HighHz = now.JudgedHz()
	if then.judged.Count() > 0 {
		levelThenDB, _ := then.judged.Mean(then.DifferenceDB, 0, math.Inf(1))
		levelNowDB, _ := now.judged.Mean(now.DifferenceDB, 0, math.Inf(1))
		p.ShiftDB = levelNowDB - levelThenDB
		p.DistanceThenDB, p.DistanceNowDB = then.judged.Distance(then.DifferenceDB), now.judged.Distance(now.DifferenceDB)
	}
	for _, c := range []*Comparison{&then, &now} {
		c.DifferenceDB = slices.Clone(c.DifferenceDB)
		c.judged.Centre(c.DifferenceDB)
	}
	bands := now.zoneBands()
	for i, z := range Zones() {
		p.Zones = append(p.Zones, ZoneProgress{z, spectrum.MeanAt(then.DifferenceDB, bands[i]), spectrum.MeanAt(now.DifferenceDB, bands[i])})
	}
	k.Since = p
}
