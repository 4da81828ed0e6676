package tracks

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure/multitrack"
)

// This file decides which track carries a difference. If one filter on the sum makes it, the
// reference differs from the mix by the same ratio in every second:
//
//	R(s) = c·h·|M(s)|²
//
// If a filter on track k alone makes it, the reference differs by the effect of that filter's
// inverse on the mix in that second, which is nothing where k is silent:
//
//	R(s) = c·(|M(s)|² + 2(g−1)·Re(T_k·M*)(s) + (g−1)²·|T_k(s)|²)
//
// Here c is the difference in level, taken where the move does not work. In each third octave
// within the move's reach h and g are free, so both hypotheses have one parameter to fit. The
// residual in dB decides between them. For several tracks with one filter on their sum, T_k is
// that sum. Other music has no same moment, so beside it no place is named: the levels in order of
// size named the wrong track in 4 of 12 cases beside another part of the song.

// weights returns how strongly a move works in each third octave, relative to its strongest one;
// 0 where it is weaker than leastReach or less than half of the third octave is judged.
func (s *session) weights(db []float64) (weight [multitrack.Thirds]float64) {
	const leastReach = 0.3 // our choice: farther out, other moves work as strongly
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

// residualMaster returns the residual in dB rms with a filter on the sum.
func residualMaster(c *levelSeries) float64 {
	return c.rmsResidual(func(i int) float64 { return 0 }, true)
}

// residualTracks returns the residual in dB rms with the best gain on some tracks alone.
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
		u := spectrum.DBToAmp(gainDB) - 1
		best = min(best, c.rmsResidual(func(i int) float64 {
			m := mix[i]
			return spectrum.PowerToDB(max(m+2*u*re[i]+u*u*power[i], m*1e-3) / m) // 30 dB: the others' leaks
		}, false))
	}
	return best
}

// sumPowerRatio returns the power of the sum of some tracks in a third octave over the sum of
// their powers: 1 for uncorrelated tracks, their number if all hold the same sound.
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

// evidence holds the residuals of the hypotheses about one move, in dB rms.
type evidence struct {
	seconds  int
	masterDB float64   // with a filter on the sum; NaN if nothing could be compared
	trackDB  []float64 // with a filter on each track; +Inf where the track is not used
	group    []int     // tracks that together leave less than any alone; nil: none
	groupDB  float64   // with a filter on the group
}

// evidence computes the residuals for a move, given each track's share of the mix where it works.
func (s *session) evidence(f biquad.Filter, shares []float64) evidence {
	weight := s.weights(biquad.ResponseDB(nil, []biquad.Filter{f}, spectrum.Centres(), s.RateHz))
	series := s.seriesOf(weight)
	e := evidence{masterDB: math.NaN()}
	total := 0.0
	for _, c := range series {
		total += c.weight
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
	e.group, e.groupDB = s.group(e.trackDB, shares, func(set []*track) float64 {
		return mean(func(c *levelSeries) float64 { return s.residualTracks(c, set) })
	})
	return e
}

// group returns the tracks that explain a difference best with one filter on all of them: the
// best pair, then one more at a time. Each size must leave decisiveDB less than the one before, the
// pair decisiveDB less than the best track alone. It returns nil if none does.
func (s *session) group(aloneDB, shares []float64, left func([]*track) float64) (best []int, bestDB float64) {
	// Our choice: a track below leastShare cannot be half of anything, more than mostTracks are a
	// bus and so a matter of the master, and of a large session the mostTried largest are tried.
	const leastShare, mostTracks, mostTried = 0.05, 4, 10
	var candidates []int
	for i, share := range shares {
		if !math.IsInf(aloneDB[i], 1) && share >= leastShare {
			candidates = append(candidates, i)
		}
	}
	slices.SortStableFunc(candidates, func(i, j int) int { return cmp.Compare(shares[j], shares[i]) })
	candidates = candidates[:min(mostTried, len(candidates))]
	bestDB = slices.Min(append([]float64{math.Inf(1)}, aloneDB...)) - decisiveDB
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
		bestDB -= decisiveDB
		for _, i := range candidates {
			if !slices.Contains(from, i) {
				try(append(slices.Clone(from), i))
			}
		}
		if len(best) == size {
			bestDB += decisiveDB
		}
	}
	return best, bestDB
}

// verdict decides where a move belongs, given the evidence and each track's share of the mix
// where the move works. It returns the track, the others that carry it together with that track,
// and the tracks that explain it equally well. For measured rates see README.md, "What was
// measured".
func verdict(e evidence, shares []float64) (where Where, on int, with, alike []int) {
	if math.IsNaN(e.masterDB) {
		return Either, mostOf(shares), nil, nil
	}
	best := floats.MinIdx(e.trackDB)
	left := e.trackDB[best]
	if math.IsInf(left, 1) {
		return Master, -1, nil, nil // no track is in the mix
	}
	if e.group != nil {
		left = e.groupDB
		best, with = split(e.group, shares)
	} else {
		alike = e.alike(best)
	}
	switch {
	case left < e.masterDB-decisiveDB:
		return OnTrack, best, with, alike
	case e.masterDB < left-decisiveDB:
		return Master, best, nil, nil
	}
	return Either, best, with, alike
}

// mostOf returns the track with the largest share; −1 if none has any.
func mostOf(shares []float64) int {
	if i := floats.MaxIdx(shares); shares[i] > 0 {
		return i
	}
	return -1
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
		if i != best && db < e.trackDB[best]+decisiveDB {
			all = append(all, i)
		}
	}
	return all
}

const (
	// decisiveDB is by how much the residual of one hypothesis must be below the other's when seconds
	// are compared with the same moments of a copy. Measured on copies: the true hypothesis left
	// 0.05 to 0.5 dB for filters on one track and 0.02 to 0.15 dB for filters on the sum; the
	// false one left 0.3 dB or more.
	decisiveDB = 0.1
	// Where no track holds missingShare of the zone the move works on, the master is named only if
	// a filter on the sum leaves at most surelyDB against a copy. Our choice: 6 dB of processing on
	// the sum leaves half to no track; filters on the sum left 0.15 dB at most, see decisiveDB.
	missingShare = 0.5
	surelyDB     = 0.3
)
