package tracks

import (
	"math"
	"slices"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match"
	"toneplumb/spectrum"
)

// Where is the place a move belongs.
type Where uint8

// The places.
const (
	Master  Where = iota // the master: the tracks share the difference as they share the zone
	OnTrack              // one track, or a few, holds most of the difference
	Either               // too close to call
)

// Move is one move on the master, with the tracks it could be made on instead.
type Move struct {
	Filter biquad.Filter

	Shares    []float64 // of each track in the mix where the move works, weighted by its response
	RestShare float64   // 1 minus the sum of Shares

	Where Where
	Track int   // the track, if OnTrack; else the one that explains the difference best; −1: none
	With  []int // tracks that carry it together with Track: one filter on all explains it, none alone does
	Alike []int // tracks that alone explain it as well as Track does, since their levels move together
	Why   Why

	MasterDB []float64  // effect of the move on the mix, per band
	ShownDB  []float64  // the same, smoothed like the difference; NaN where left out
	Instead  *TrackMove // the move on Track and With that comes nearest to it; nil if none does

	// AgainstFront reports whether Instead cuts the presence range of a track the person wants in
	// front; AgainstBack, whether it lifts that of a track the person wants behind.
	AgainstFront, AgainstBack bool
}

// Why is the evidence behind a verdict.
type Why struct {
	SameMoments bool      // compared second by second with a copy of the song; else nothing is
	Seconds     int       // compared
	MasterDB    float64   // residual with a filter on the sum, dB rms
	TrackDB     []float64 // residual with a filter on each track alone; +Inf where the track is not used
	TogetherDB  float64   // residual with a filter on Track and With; NaN without With
}

// TrackMove is a move on a single track, or the same move on several.
type TrackMove struct {
	Tracks   []int
	Filter   biquad.Filter
	EffectDB []float64 // effect on the mix, per band
	ShownDB  []float64 // the same, smoothed like the difference; NaN where left out
	ApartDB  float64   // rms distance of ShownDB from the move on the master's, over what is judged
	TrimsDB  []float64 // for each track, the gain that keeps its own loudness

	// TrimmedDB is the effect on the mix with the trims, per band, and ShownTrimmedDB the same,
	// smoothed like ShownDB; both are nil before [Advice.Measure]. MostlyLevel reports whether
	// the trims take most of the effect away: the move mainly makes the tracks louder or softer.
	TrimmedDB      []float64
	ShownTrimmedDB []float64
	MostlyLevel    bool
}

// leavesMost is the share of a move that a replacement may miss. Our choice: a move that does
// less than half of it is another move.
const leavesMost = 0.5

// moves returns the moves on the master with their verdicts.
func (s *session) moves(o Options) []Move {
	var all []Move
	for _, moved := range s.r.Moves {
		f := moved.Filter
		m := Move{Filter: f, MasterDB: biquad.ResponseDB(nil, []biquad.Filter{f}, spectrum.Centres(), s.RateHz)}
		m.ShownDB = s.shown(m.MasterDB)
		m.Shares, m.RestShare = s.moveShares(m.MasterDB)
		e := s.evidence(f, m.Shares)
		m.Why = Why{SameMoments: !math.IsNaN(e.masterDB), Seconds: e.seconds, MasterDB: e.masterDB, TrackDB: e.trackDB, TogetherDB: math.NaN()}
		m.Where, m.Track, m.With, m.Alike = verdict(e, m.Shares)
		if m.Where == Master && m.RestShare > missingShare && !(e.masterDB <= surelyDB) {
			m.Where = Either // a track that was not given may carry it
		}
		if m.With != nil {
			m.Why.TogetherDB = e.groupDB
		}
		if on := m.On(); on != nil {
			m.Instead = s.instead(on, f, m.MasterDB)
			m.checkPlacing(on, o)
		}
		all = append(all, m)
	}
	return all
}

// On returns the tracks that carry the move or, if none does, the one that explains it best; nil
// where Track is −1.
func (m *Move) On() []int {
	if m.Track < 0 {
		return nil
	}
	return append([]int{m.Track}, m.With...)
}

// ShownAt returns the band where the move has most of its gain, or the nearest one that is judged.
func (m *Move) ShownAt() int {
	at := bandOf(worksAtHz(m.Filter))
	for d := range len(m.ShownDB) {
		for _, b := range []int{at - d, at + d} {
			if b >= 0 && b < len(m.ShownDB) && !math.IsNaN(m.ShownDB[b]) {
				return b
			}
		}
	}
	return at
}

// worksAtHz returns a frequency where a filter has most of its gain.
func worksAtHz(f biquad.Filter) float64 {
	const topHz = 18000
	switch f.Shape {
	case biquad.LowShelf:
		return f.FreqHz / 2
	case biquad.HighShelf:
		return min(2*f.FreqHz, topHz)
	}
	return f.FreqHz
}

// Missing reports whether the tracks hold too little of the zone the move works on for a track or
// the master to be named.
func (m *Move) Missing() bool { return m.RestShare > missingShare }

// checkPlacing sets AgainstFront and AgainstBack.
func (m *Move) checkPlacing(on []int, o Options) {
	if m.Instead == nil {
		return
	}
	hz, g := m.Instead.Filter.FreqHz, m.Instead.Filter.GainDB
	if hz < presenceLowHz || hz > presenceHighHz {
		return
	}
	m.AgainstFront = g < 0 && slices.ContainsFunc(on, func(i int) bool { return slices.Contains(o.Front, i) })
	m.AgainstBack = g > 0 && slices.ContainsFunc(on, func(i int) bool { return slices.Contains(o.Back, i) })
}

// moveShares returns Re⟨T·M*⟩/⟨|M|²⟩ of each track, averaged over the judged bands with the
// response as weight, and the rest to 1.
func (s *session) moveShares(db []float64) (shares []float64, rest float64) {
	total := 0.0
	shares, rest = make([]float64, len(s.tracks)), 1
	for b, yes := range s.judged {
		if !yes || s.MixPower[b] <= tiny {
			continue
		}
		w := math.Abs(db[b])
		total += w
		for i, t := range s.tracks {
			if t.state == Heard {
				shares[i] += w * t.re[b] / s.MixPower[b]
			}
		}
	}
	for i := range shares {
		shares[i] /= max(total, tiny)
		rest -= shares[i]
	}
	return shares, rest
}

// instead returns the move on tracks, the same on each, whose effect on the mix is nearest to that
// of a move on the master. It keeps the shape. It starts with the best gain at the same frequency
// and Q, then descends by dial steps. It returns nil if more than leavesMost of the move remains.
func (s *session) instead(on []int, f biquad.Filter, wantDB []float64) *TrackMove {
	var set []*track
	for _, i := range on {
		set = append(set, s.tracks[i])
	}
	want := s.smoother.Smooth(nil, wantDB)
	apart := func(f biquad.Filter) float64 {
		return s.apart(s.smoother.Smooth(nil, s.effect(set, []biquad.Filter{f})), want)
	}
	const step = 0.5 // dB
	least, most := s.gainsOf(f.Shape)
	best, bestDB := f, math.Inf(1)
	for g := math.Ceil(least/step) * step; g <= most; g += step {
		try := f
		try.GainDB = g
		if db := apart(try); db < bestDB {
			best, bestDB = try, db
		}
	}
	freqs := fit.Default().Bell.FreqHz.Values
	for better := true; better; {
		better = false
		for _, try := range neighbours(best, freqs) {
			// worthDB ends the search where steps change nothing, as outside the judged bands. Our
			// choice: the last decimal in documents.
			const worthDB = 1e-4
			if try.GainDB < least || try.GainDB > most || try.Check(s.RateHz) != nil {
				continue
			}
			if db := apart(try); db < bestDB-worthDB {
				best, bestDB, better = try, db, true
			}
		}
	}
	if bestDB > leavesMost*s.judged.RMS(want) {
		return nil
	}
	m := &TrackMove{Tracks: on, Filter: best, EffectDB: s.effect(set, []biquad.Filter{best})}
	s.show(m, wantDB)
	for _, t := range set {
		m.TrimsDB = append(m.TrimsDB, -s.loudnessChange(t, []biquad.Filter{best}))
	}
	return m
}

// show sets the curves and distances shown for a move on tracks, from its effect.
func (s *session) show(m *TrackMove, wantDB []float64) {
	m.ShownDB = s.shown(m.EffectDB)
	want := s.shown(wantDB)
	m.ApartDB = s.apart(m.ShownDB, want)
	if m.TrimmedDB != nil {
		m.ShownTrimmedDB = s.shown(m.TrimmedDB)
		m.MostlyLevel = s.apart(m.ShownTrimmedDB, want) > leavesMost*s.judged.RMS(want)
	}
}

// shown returns a curve smoothed like the difference; NaN where left out.
func (s *session) shown(db []float64) []float64 {
	all := s.smoother.Smooth(nil, db)
	for b, why := range s.r.LeftOut {
		if why.Cause != match.Kept {
			all[b] = math.NaN()
		}
	}
	return all
}

// gainsOf returns the gain range in dB of the equaliser the moves are for. A track is assumed to
// have the same equaliser.
func (s *session) gainsOf(shape biquad.Shape) (least, most float64) {
	d := s.r.SolveOptions.Dials().Limits(shape).GainDB
	if n := len(d.Values); n > 0 {
		return d.Values[0], d.Values[n-1]
	}
	return d.Min, d.Max
}

// neighbours returns the settings one step away on a dial of the default equaliser, and four
// steps away in frequency.
func neighbours(f biquad.Filter, freqs []float64) []biquad.Filter {
	var all []biquad.Filter
	at, _ := slices.BinarySearch(freqs, f.FreqHz)
	for _, d := range []int{-4, -1, 1, 4} {
		if i := at + d; i >= 0 && i < len(freqs) {
			g := f
			g.FreqHz = freqs[i]
			all = append(all, g)
		}
	}
	for _, d := range []float64{-0.5, 0.5} {
		g := f
		g.GainDB += d
		all = append(all, g)
	}
	if f.Shape == biquad.Bell {
		for _, d := range []float64{-0.1, 0.1} {
			if q := math.Round(10*(f.Q+d)) / 10; q >= 0.3 && q <= 2 {
				g := f
				g.Q = q
				all = append(all, g)
			}
		}
	}
	return all
}
