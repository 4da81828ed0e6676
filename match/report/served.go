package report

import (
	"math"

	"toneplumb/match"
	"toneplumb/match/words"
)

// served says which moves deal with zones that are worth naming.
type served struct {
	moves          []servingMove
	together, none []string // zones that only all moves together deal with, and that nothing does
}

// servingMove is a move with the zones it deals with.
type servingMove struct {
	index int
	zones []string // "the lows"
}

// servedBy returns what deals with zones, of which −1 is none. The farthest zone is not among those that
// nothing deals with: [match.Result.Gap] has it, with the cause.
func servedBy(r *match.Result, zones ...int) (by served) {
	gap := r.Gap()
	for _, i := range zones {
		if i < 0 || math.Abs(r.Zones[i].DifferenceDB) < match.WorthNamingDB {
			continue
		}
		z, name := r.Zones[i], "the "+r.Zones[i].Name
		k := r.MoveFor(z.Zone, z.DifferenceDB)
		switch {
		case k >= 0:
			by.add(k, name)
		case r.ClosedTogether(z):
			by.together = append(by.together, name)
		case gap == nil || gap.Zone != z.Zone:
			by.none = append(by.none, name)
		}
	}
	return by
}

func (s *served) add(move int, zone string) {
	for i := range s.moves {
		if s.moves[i].index == move {
			s.moves[i].zones = append(s.moves[i].zones, zone)
			return
		}
	}
	s.moves = append(s.moves, servingMove{move, []string{zone}})
}

// without returns a sentence on the zones that nothing deals with, "" if there are none.
func (s *served) without() string {
	if s.none == nil {
		return ""
	}
	return " No move deals with " + words.List(s.none) + "."
}
