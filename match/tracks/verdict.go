package tracks

import "math"

// verdict tells where the evidence puts a move that works where the tracks have these shares,
// and on which track, with others if several carry it together, and which tracks
// explain it as well. What it rests on was measured, see DEVELOPERS.md.
func verdict(e evidence, shares []float64) (where Where, on int, with, alike []int) {
	best, largest := e.leading(shares)
	switch {
	case math.IsNaN(e.masterDB):
		return Either, largest, nil, nil
	case best < 0:
		return Master, -1, nil, nil // no track has enough of it
	case !e.paired:
		where, on = e.unpaired(best, largest)
		return where, on, nil, nil
	}
	left := e.trackDB[best]
	if e.group != nil {
		left = e.groupDB
		best, with = split(e.group, shares)
	} else {
		alike = e.alike(best)
	}
	switch {
	case left < e.masterDB-tellsDB:
		return OnTrack, best, with, alike
	case e.masterDB < left-tellsDB:
		return Master, best, nil, nil
	}
	return Either, best, with, alike
}

// leading returns the track that leaves least and the one with the largest share, of those that
// count; −1 where none does.
func (e evidence) leading(shares []float64) (best, largest int) {
	best, largest = -1, -1
	for i, left := range e.trackDB {
		if math.IsInf(left, 1) || !e.paired && shares[i] < unpairedShare {
			continue
		}
		if best < 0 || left < e.trackDB[best] {
			best = i
		}
		if largest < 0 || shares[i] > shares[largest] {
			largest = i
		}
	}
	return best, largest
}

// unpaired returns the verdict without a copy, given what leading returns.
func (e evidence) unpaired(best, largest int) (Where, int) {
	switch left := e.trackDB[best]; {
	case left <= e.masterDB:
		return OnTrack, best
	case left > unpairedRatio*e.masterDB:
		return Master, best
	}
	return Either, largest
}

// split returns the track of a group with the largest share, the first of equals, and the others.
func split(group []int, shares []float64) (first int, others []int) {
	first = group[0]
	for _, i := range group[1:] {
		if shares[i] > shares[first] {
			first = i
		}
	}
	for _, i := range group {
		if i != first {
			others = append(others, i)
		}
	}
	return first, others
}

// alike returns the tracks that explain a move as well as the best one does.
func (e evidence) alike(best int) []int {
	var all []int
	for i, db := range e.trackDB {
		if i != best && db < e.trackDB[best]+tellsDB {
			all = append(all, i)
		}
	}
	return all
}

const (
	// tellsDB is by how much one hypothesis must leave less than another where seconds are
	// compared with the same moments of a copy. Measured on copies: filters on one
	// track leave 0.05 to 0.5 dB of it, on the sum 0.02 to 0.15; the other hypothesis 0.3 and more.
	tellsDB = 0.1
	// Without a copy a track must hold unpairedShare of what the move works on to be
	// blamed, and the master is only where the best of these leaves unpairedRatio
	// times as much. Measured: see DEVELOPERS.md.
	unpairedShare = 0.35
	// Where no track holds missingShare of what the move works on, the master is named only
	// if a filter on the sum leaves no more than surelyDB of a copy. Our choice: processing
	// on the sum of 6 dB leaves half to no track; filters on the sum left 0.15 dB at most, see tellsDB.
	missingShare  = 0.5
	surelyDB      = 0.3
	unpairedRatio = 1.2
)
