package class

import (
	"fmt"
	"math"
	"strings"

	"toneplumb/match"
)

// Shared is a zone in which most of the mixes have too much, or too little, compared with the
// references.
type Shared struct {
	match.Zone
	TooMuch bool // false: too little
	Mixes   int  // number of mixes that share it
	Of      int  // number of mixes in which the zone is judged
}

const (
	sharedDB     = 1 // dB; our choice: less is not worth naming to a class
	fewestShared = 3 // our choice: fewer mixes are not a class
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
				over.Mixes++
			case z.LowDB > 0:
				under.Mixes++
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

func (s Shared) words() string {
	amount := map[bool]string{true: "too much", false: "too little"}[s.TooMuch]
	return fmt.Sprintf("%d of %d mixes have %s in the %s", s.Mixes, s.Of, amount, s.Name)
}

// shared returns a sentence about the shared zones, naming zones with the same counts together;
// "" if there are none.
func shared(t *Table) string {
	var parts []string
	all := t.Shared()
	for i, s := range all {
		if i > 0 && s.TooMuch == all[i-1].TooMuch && s.Mixes == all[i-1].Mixes && s.Of == all[i-1].Of {
			parts[len(parts)-1] += ", " + s.Name
			continue
		}
		parts = append(parts, s.words())
	}
	if len(parts) == 0 {
		return ""
	}
	return strings.Join(parts, "; ") + "."
}
