package class

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"toneplumb/match"
	"toneplumb/match/words"
)

// Shared is a zone in which most of the mixes have too much, or too little, compared with the
// references.
type Shared struct {
	match.Zone
	TooMuch bool // false: too little
	Mixes   int  // number of mixes that share it
	Of      int  // number of mixes in which the zone is judged
	Off     int  // number of those that share it whose verdict is [match.Differs]
	Unusual int  // the same for [match.Unusual]

	sumDB float64 // how far those that share it are off, added up
}

const (
	sharedDB     = 1 // dB; our choice: less is not worth naming to a class
	fewestShared = 3 // our choice: fewer mixes are not a class
	mostNamed    = 2 // our choice: more is not heard
)

// Shared returns the zones in which more than half of the mixes are on the same side of the
// references. A mix counts if it is off by sharedDB or more and its whole likely range is on
// that side.
func (t *Table) Shared() []Shared {
	var all []Shared
	for i, zone := range match.Zones() {
		over, under := Shared{Zone: zone, TooMuch: true}, Shared{Zone: zone}
		for _, r := range t.Rows {
			if r.Problem != "" || r.Zones[i].Why == match.LeftOutZone {
				continue
			}
			over.Of++
			switch z := r.Zones[i]; {
			case math.Abs(z.DifferenceDB) < sharedDB:
			case z.HighDB < 0:
				over.add(z)
			case z.LowDB > 0:
				under.add(z)
			}
		}
		under.Of = over.Of
		for _, s := range []Shared{over, under} {
			if s.Of >= fewestShared && 2*s.Mixes > s.Of {
				all = append(all, s)
			}
		}
	}
	return all
}

func (s *Shared) add(z match.ZoneVerdict) {
	s.Mixes++
	s.sumDB += math.Abs(z.DifferenceDB)
	switch z.Verdict {
	case match.Differs:
		s.Off++
	case match.Unusual:
		s.Unusual++
	}
}

// byGravity orders what the class should hear of: first where most mixes are off, then where most are
// unusual, then where they are farthest off altogether.
func byGravity(a, b Shared) int {
	return cmp.Or(cmp.Compare(b.Off, a.Off), cmp.Compare(b.Unusual, a.Unusual), cmp.Compare(b.sumDB, a.sumDB))
}

// words says what is shared in these zones. It agrees with the verdicts: only what is off is too much or
// too little, but a class that is all on one side has something to talk about.
func (s Shared) words(zones string) string {
	of := fmt.Sprintf("%d of %d mixes ", s.Mixes, s.Of)
	if s.Mixes == s.Of {
		of = fmt.Sprintf("all %d mixes ", s.Of)
	}
	if s.Off == s.Mixes {
		return of + "have " + words.Either(s.TooMuch, "too much", "too little") + " in the " + zones
	}
	var counts []string
	for _, n := range []struct {
		mixes   int
		verdict match.Verdict
	}{{s.Off, match.Differs}, {s.Unusual, match.Unusual}} {
		if n.mixes > 0 {
			counts = append(counts, fmt.Sprintf("%d of them %s", n.mixes, n.verdict))
		}
	}
	if counts == nil {
		counts = []string{"but none is off there"}
	}
	return of + "are " + words.Either(s.TooMuch, "over", "under") + " in the " + zones + ", " + strings.Join(counts, ", ")
}

// shared returns a sentence about the gravest of what is shared, mostNamed things at most, naming zones with
// the same counts together; "" if nothing is. The table has the rest.
func shared(t *Table) string {
	var parts []string
	for all := t.Shared(); len(all) > 0 && len(parts) < mostNamed; {
		gravest := slices.MinFunc(all, byGravity)
		var zones []string
		all = slices.DeleteFunc(all, func(s Shared) bool {
			name := s.Name
			s.Zone, s.sumDB = gravest.Zone, gravest.sumDB
			if s != gravest {
				return false
			}
			zones = append(zones, name)
			return true
		})
		parts = append(parts, gravest.words(words.List(zones)))
	}
	if len(parts) == 0 {
		return ""
	}
	return words.UpperFirst(strings.Join(parts, "; ")) + "."
}
