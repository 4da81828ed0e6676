package class

import (
	"fmt"
	"math"
	"strings"

	"toneplumb/match"
)

// Shared is what most of the mixes have in common in a zone: more of it than the
// references have, or less.
type Shared struct {
	match.Zone
	TooMuch bool // else too little
	Mixes   int  // in which it is so
	Of      int  // in which the zone is judged
}

const (
	sharedDB     = 1 // less is not worth naming to a class; our choice
	fewestShared = 3 // mixes make "most"; our choice
)

// Shared returns in which zones most mixes, more than half, lie to the same side of the
// references: by sharedDB or more, and the whole interval on that side.
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

// shared says it in one sentence, zones of which the same is true together; "" where
// most mixes share nothing.
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
