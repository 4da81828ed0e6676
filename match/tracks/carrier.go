package tracks

import (
	"cmp"
	"math"
	"slices"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure/multitrack"
)

// How it is told who carries a difference. Were it made by one filter on the sum, the
// reference would lie apart from the mix by as much in every second:
//
//	R(s) = c·h·|M(s)|²
//
// Were it made by a filter on track k alone, it would lie apart by what that filter, taken
// back, does to the mix in that second, nothing where k is silent:
//
//	R(s) = c·(|M(s)|² + 2(g−1)·Re(T_k·M*)(s) + (g−1)²·|T_k(s)|²)
//
// with c the difference in level, taken where the move does not work. In each third octave
// within the move's reach h and g are free, so each side has one number to fit. What
// is left, in dB, tells which is nearer. Several tracks that carry it together have one
// filter on their sum, and T_k stands for that. Of a copy of the song seconds are compared at the same moment;
// another song has no such moment, and there the levels, each against the rest of
// its second, are compared in order of size: whether the zone would run
// through the song as evenly as it does in the reference.

// weights returns for each third octave how strongly a move works there, relative to its
// strongest; 0 where nothing is judged or it is weaker than leastReach.
func (s *session) weights(db []float64) (weight [multitrack.Thirds]float64) {
	const leastReach = 0.3 // our choice: what lies beyond is other moves' as much
	strongest := 0.0
	for third := range weight {
		sum, n := 0.0, 0
		from, to := multitrack.ThirdBands(third)
		for b := from; b < to; b++ {
			if s.judged[b] {
				sum, n = sum+math.Abs(db[b]), n+1
			}
		}
		if 2*n >= to-from {
			weight[third] = sum / float64(n)
			strongest = max(strongest, weight[third])
		}
	}
	for third := range weight {
		if weight[third] /= max(strongest, tiny); weight[third] < leastReach {
			weight[third] = 0
		}
	}
	return weight
}

// residualMaster returns how far a difference that is the same in every second leaves them apart.
func residualMaster(c *levelSeries) float64 {
	return c.rmsResidual(func(i int) float64 { return 0 }, true)
}

// residualTracks returns how far a gain on some tracks alone leaves a series apart, at the best gain.
func (s *session) residualTracks(c *levelSeries, set []*track) float64 {
	const most, step = 12.0, 0.5 // dB
	n := len(c.rows)
	power, re, mix := make([]float64, n), make([]float64, n), make([]float64, n)
	alike := s.sumPowerRatio(set, c.third)
	for i, row := range c.rows {
		mix[i] = float64(s.RowMix[row*multitrack.Thirds+c.third])
		for _, t := range set {
			p, x := t.cell(row, c.third)
			power[i], re[i] = power[i]+alike*p, re[i]+x
		}
	}
	best := math.Inf(1)
	for gainDB := -most; gainDB <= most; gainDB += step {
		u := math.Pow(10, gainDB/20) - 1
		best = min(best, c.rmsResidual(func(i int) float64 {
			m := mix[i]
			return spectrum.PowerToDB(max(m+2*u*re[i]+u*u*power[i], m*1e-3) / m) // 30 dB: the others' leaks
		}, false))
	}
	return best
}

// sumPowerRatio returns how much more power the sum of some tracks has in a third octave than they
// have one by one: 1 for tracks that run apart, their number for one sound in all.
func (s *session) sumPowerRatio(set []*track, third int) float64 {
	from, to := multitrack.ThirdBands(third)
	apart, together := 0.0, 0.0
	for b := from; b < to; b++ {
		for _, t := range set {
			apart += t.power[b]
		}
		together += s.powerOfSum(set, b)
	}
	return together / max(apart, tiny)
}

// evidence weighs the hypotheses about one move.
type evidence struct {
	paired   bool
	seconds  int
	masterDB float64   // left with a filter on the sum
	trackDB  []float64 // left with a filter on each track; +Inf where it does not count
	group    []int     // several tracks that leave less together than any alone; nil: none
	groupDB  float64   // what they leave
}

// evidence gathers it, given what share of the mix each track has where the move works.
func (s *session) evidence(f biquad.Filter, shares []float64) evidence {
	weight := s.weights(biquad.ResponseDB(nil, []biquad.Filter{f}, spectrum.Centres(), s.RateHz))
	series := s.seriesOf(weight)
	e := evidence{masterDB: math.NaN()}
	total := 0.0
	for _, c := range series {
		total += c.weight
		e.paired = c.paired
		e.seconds = max(e.seconds, len(c.rows))
	}
	mean := func(of func(c *levelSeries) float64) float64 {
		sum := 0.0
		for _, c := range series {
			v := of(c)
			sum += c.weight / total * v * v
		}
		return math.Sqrt(sum)
	}
	if total > 0 {
		e.masterDB = mean(residualMaster)
	}
	for _, t := range s.tracks {
		left := math.Inf(1)
		if t.state == Heard && total > 0 {
			left = mean(func(c *levelSeries) float64 { return s.residualTracks(c, []*track{t}) })
		}
		e.trackDB = append(e.trackDB, left)
	}
	if e.paired {
		e.group, e.groupDB = s.group(e.trackDB, shares, func(set []*track) float64 {
			return mean(func(c *levelSeries) float64 { return s.residualTracks(c, set) })
		})
	}
	return e
}

// group returns the tracks that explain a difference best by one filter on all of them, if
// they leave tellsDB less than the best of them alone does, and each adds as much: the
// best pair, then one more at a time. Nil for none.
func (s *session) group(aloneDB, shares []float64, left func([]*track) float64) (best []int, bestDB float64) {
	// Our choice: below leastShare a track is no half of anything; more than mostTracks
	// are a bus, and a matter of the master; of a large session the mostTried largest.
	const leastShare, mostTracks, mostTried = 0.05, 4, 10
	var candidates []int
	for i, share := range shares {
		if !math.IsInf(aloneDB[i], 1) && share >= leastShare {
			candidates = append(candidates, i)
		}
	}
	slices.SortStableFunc(candidates, func(i, j int) int { return cmp.Compare(shares[j], shares[i]) })
	candidates = candidates[:min(mostTried, len(candidates))]
	bestDB = slices.Min(append([]float64{math.Inf(1)}, aloneDB...)) - tellsDB
	try := func(set []int) {
		var tracks []*track
		for _, i := range set {
			tracks = append(tracks, s.tracks[i])
		}
		if db := left(tracks); db < bestDB {
			best, bestDB = set, db
		}
	}
	for n, i := range candidates {
		for _, j := range candidates[:n] {
			try([]int{j, i})
		}
	}
	for size := 2; size < mostTracks && len(best) == size; size++ {
		from := best
		bestDB -= tellsDB
		for _, i := range candidates {
			if !slices.Contains(from, i) {
				try(append(slices.Clone(from), i))
			}
		}
		if len(best) == size {
			bestDB += tellsDB
		}
	}
	return best, bestDB
}

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
