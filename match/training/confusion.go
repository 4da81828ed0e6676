package training

import (
	"cmp"
	"slices"

	"toneplumb/biquad"
	"toneplumb/match"
)

// Place is a zone and a direction, boost or cut.
type Place struct {
	Zone int // index into [match.Zones]; −1: nothing at all
	Up   bool
}

// Nowhere is where a missed move was heard, and where an invented one was hidden.
var Nowhere = Place{Zone: -1}

// placeHeard returns the place of a move.
func placeHeard(f biquad.Filter) Place {
	k := KindOf(f)
	return Place{k.Zone, k.Up}
}

// Name returns the zone with a sign, such as "low mids +", or "nothing".
func (p Place) Name() string {
	if p.Zone < 0 {
		return "nothing"
	}
	return match.Zones()[p.Zone].Name + map[bool]string{true: " +", false: " −"}[p.Up]
}

// Places returns all places, boosts before cuts, "nothing" last.
func Places() []Place {
	var all []Place
	for _, up := range []bool{true, false} {
		for z := range match.Zones() {
			all = append(all, Place{z, up})
		}
	}
	return append(all, Nowhere)
}

// Taken is where a move was hidden, where it was heard, and whether that found it: a move may be heard in its
// place, but not near enough.
type Taken struct {
	Hidden, Heard Place
	Found         bool
}

// Confusion counts moves by what they were taken for. A found move counts as heard where it was hidden.
type Confusion map[Taken]int

// Add adds the moves of a mark.
func (c Confusion) Add(m Mark) {
	for _, p := range m.Found {
		c[Taken{placeHeard(p.Hidden), placeHeard(p.Hidden), true}]++
	}
	for _, p := range slices.Concat(m.WrongWay, m.Confused) {
		c[Taken{Hidden: placeHeard(p.Hidden), Heard: placeHeard(p.Heard)}]++
	}
	for _, f := range m.Missed {
		c[Taken{Hidden: placeHeard(f), Heard: Nowhere}]++
	}
	for _, f := range m.Invented {
		c[Taken{Hidden: Nowhere, Heard: placeHeard(f)}]++
	}
}

// Mixup is a place that was heard for another, or too far from what was hidden there, and how often.
type Mixup struct {
	Hidden, Heard Place
	Times         int
}

// Mixups returns the mistakes made at least twice, the most frequent first.
func (c Confusion) Mixups() []Mixup {
	var all []Mixup
	for k, n := range c {
		if !k.Found && n > 1 {
			all = append(all, Mixup{k.Hidden, k.Heard, n})
		}
	}
	order := Places()
	slices.SortFunc(all, func(a, b Mixup) int {
		return cmp.Or(b.Times-a.Times, slices.Index(order, a.Hidden)-slices.Index(order, b.Hidden), slices.Index(order, a.Heard)-slices.Index(order, b.Heard))
	})
	return all
}

// Missed returns the kinds of moves that were not found, the most often missed first. They are
// hidden again in the next lesson, see [Draw].
func Missed(marks []Mark) []Kind {
	count := map[Kind]int{}
	var order []Kind
	add := func(f biquad.Filter) {
		k := KindOf(f)
		if count[k]++; count[k] == 1 {
			order = append(order, k)
		}
	}
	for _, m := range marks {
		for _, p := range slices.Concat(m.WrongWay, m.Confused) {
			add(p.Hidden)
		}
		for _, f := range m.Missed {
			add(f)
		}
	}
	slices.SortStableFunc(order, func(a, b Kind) int { return count[b] - count[a] })
	return order
}
