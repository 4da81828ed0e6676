package report

import (
	"math"
	"slices"

	"toneplumb/match"
	"toneplumb/match/words"
)

// served says which moves deal with zones that are worth naming.
type served struct {
	moves     []servingMove
	others    []int    // indices of the moves that deal with none of the zones
	together  []string // zones that only all moves together deal with
	elsewhere []string // zones that come nearer by what moves do elsewhere, see [match.Result.Elsewhere]
	none      []string // zones that nothing deals with
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
		case r.ClosedTogether(z) && r.Elsewhere(z):
			by.elsewhere = append(by.elsewhere, name)
		case r.ClosedTogether(z):
			by.together = append(by.together, name)
		case gap == nil || gap.Zone != z.Zone:
			by.none = append(by.none, name)
		}
	}
	for k := range r.Moves {
		if !slices.ContainsFunc(by.moves, func(m servingMove) bool { return m.index == k }) {
			by.others = append(by.others, k)
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

// without returns sentences on the zones that no move deals with, "" if there are none.
func (s *served) without() string {
	text := ""
	if s.elsewhere != nil {
		text += " No move works in " + words.List(s.elsewhere) + "; what is done elsewhere closes part of that gap."
	}
	if s.none != nil {
		text += " No move deals with " + words.List(s.none) + "."
	}
	return text
}
