package tracks

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure/multitrack"
)

const (
	// nearDB is the largest difference at which two tracks hold near-equal energy. Our choice: with
	// twice the power a track stands out.
	nearDB = 3
	// holdShare is the share of the mix's power in a zone and second that each track of a pair must
	// hold. Our choice: with less it is behind the others anyway.
	holdShare = 0.2
	// pairLeastShare is the share of the seconds in use that a pair must last to be reported. Our choice.
	pairLeastShare = 0.1
)

// Pair is two tracks that hold near-equal energy in one zone at the same time.
type Pair struct {
	Zone    int     // index into [match.Zones]
	A, B    int     // tracks, A < B
	Share   float64 // of the seconds in use
	Seconds int
	LevelDB float64 // A minus B, the mean over these seconds

	Cut    int // the track to cut: the one that needs the zone less, or is to stand behind
	Reason CutReason
	Filter biquad.Filter // the cut: at most 3 dB, Q at most 1
	TrimDB float64       // keeps the loudness of the track that is cut
	// MixDB is the effect of the cut on the mix at its frequency.
	MixDB float64
}

// CutReason is why one track of a pair is cut and not the other.
type CutReason uint8

// The reasons.
const (
	NeedsLess      CutReason = iota // it has the smaller share of its own energy there
	StandsBack                      // the person wants it behind
	OtherFronts                     // the person wants the other in front
	PlanLowers                      // the plan turns it down there
	PlanLiftsOther                  // the plan turns the other up there, and not this one
)

// pairs returns the pairs with the faders of a firm plan set, those that last longest first. There are
// none if the plan reaches a trusted mix of the same song, where these tracks fill the zone together
// as they are to; unless one is to be in front or behind.
func (s *session) pairs(o Options, plan *Plan) []Pair {
	if plan.Reaches() && o.Front == nil && o.Back == nil {
		return nil
	}
	fader := s.fadersOf(plan)
	power := make([][]float64, len(s.tracks))
	for i, t := range s.tracks {
		if t.state == Heard {
			power[i] = s.zonesOf(t, fader[i])
		}
	}
	mix := s.zonesOfMix(fader)
	var all []Pair
	for z := range match.Zones() {
		for a := range s.tracks {
			for b := a + 1; b < len(s.tracks); b++ {
				if power[a] == nil || power[b] == nil {
					continue
				}
				p := Pair{Zone: z, A: a, B: b}
				if rows := s.meet(&p, power[a], power[b], mix); p.Share >= pairLeastShare {
					s.makeRoom(&p, rows, o, plan)
					all = append(all, p)
				}
			}
		}
	}
	slices.SortStableFunc(all, func(p, q Pair) int { return cmp.Compare(q.Seconds, p.Seconds) })
	return all
}

// fadersOf returns the amplitude gain of each track's fader in a firm plan; a hint sets none.
func (s *session) fadersOf(plan *Plan) []float64 {
	fader := slices.Repeat([]float64{1}, len(s.tracks))
	if plan != nil && plan.Firm {
		for _, f := range plan.Faders {
			for _, i := range s.members(f.Track) {
				fader[i] *= spectrum.DBToAmp(f.GainDB)
			}
		}
	}
	return fader
}

// zonesOf returns a track's power in each zone at a fader's gain: [i·zones + zone] in s.seconds[i].
func (s *session) zonesOf(t *track, fader float64) []float64 {
	var power []float64
	for _, row := range s.seconds {
		at := make([]float64, len(match.Zones()))
		for third := range multitrack.Thirds {
			p, _ := t.cell(row, third)
			at[thirdZone(third)] += fader * fader * p
		}
		power = append(power, at...)
	}
	return power
}

// zonesOfMix returns the same for the mix, with the faders of all tracks set.
func (s *session) zonesOfMix(fader []float64) []float64 {
	var power []float64
	for _, row := range s.seconds {
		at := make([]float64, len(match.Zones()))
		for third := range multitrack.Thirds {
			m := float64(s.RowMix[row*multitrack.Thirds+third])
			for i, t := range s.tracks {
				if d := fader[i] - 1; d != 0 {
					p, x := t.cell(row, third)
					m += 2*d*x + d*d*p
				}
			}
			at[thirdZone(third)] += max(m, 0)
		}
		power = append(power, at...)
	}
	return power
}

// meet sets how long, and at what levels, the tracks of a pair hold near-equal energy in its zone,
// and returns these seconds. The powers are as returned by zonesOf.
func (s *session) meet(p *Pair, a, b, mix []float64) (rows []int) {
	zones := len(match.Zones())
	for i, row := range s.seconds {
		at := i*zones + p.Zone
		d := spectrum.PowerToDB(max(a[at], tiny) / max(b[at], tiny))
		if mix[at] > 0 && min(a[at], b[at]) >= holdShare*mix[at] && math.Abs(d) <= nearDB {
			p.LevelDB += d
			rows = append(rows, row)
		}
	}
	p.Seconds = len(rows)
	p.Share = float64(p.Seconds) / float64(max(1, len(s.seconds)))
	p.LevelDB /= float64(max(1, p.Seconds))
	return rows
}

// thirdZone returns the zone that contains a third octave.
func thirdZone(third int) int {
	return zoneOf(spectrum.CentreHz(midBand(third)))
}

// makeRoom chooses which track of a pair is cut, and how: where both have most energy at once, as
// broad as the zone but with Q at most 1, by the gain that brings the two nearDB apart.
func (s *session) makeRoom(p *Pair, rows []int, o Options, plan *Plan) {
	freqHz := dialled(thirdHz(s.meetingThird(p, rows)), s.RateHz)
	first, reason := s.cutsFirst(p, freqHz, o, plan)
	p.Cut, p.Reason = p.B, reason
	apartDB := p.LevelDB // the track that stays minus the one that is cut
	if first {
		p.Cut, apartDB = p.A, -apartDB
	}
	const mostDB, leastDB = 3, 1 // small, but audible; our choice
	cut := math.Round(2*(nearDB-apartDB)) / 2
	zone := match.Zones()[p.Zone]
	q := min(1, qOf(math.Log2(zone.HighHz/zone.LowHz)))
	p.Filter = biquad.Filter{Shape: biquad.Bell, FreqHz: freqHz, GainDB: -min(max(cut, leastDB), mostDB), Q: math.Round(10*q) / 10}
	t := s.tracks[p.Cut]
	p.TrimDB = -s.loudnessChange(t, []biquad.Filter{p.Filter})
	p.MixDB = s.effect([]*track{t}, []biquad.Filter{p.Filter})[bandOf(p.Filter.FreqHz)]
}

// cutsFirst reports whether the first track of a pair is cut at a frequency, else the second is: what the person
// wants decides first, then a firm plan, so that no advice takes back another, then which needs the zone less.
func (s *session) cutsFirst(p *Pair, freqHz float64, o Options, plan *Plan) (bool, CutReason) {
	if presence(p.Zone) {
		back := func(i int) bool { return slices.Contains(o.Back, i) }
		front := func(i int) bool { return slices.Contains(o.Front, i) }
		switch {
		case back(p.A) != back(p.B):
			return back(p.A), StandsBack
		case front(p.A) != front(p.B):
			return front(p.B), OtherFronts
		}
	}
	a, b := s.plannedDB(plan, p.A, freqHz), s.plannedDB(plan, p.B, freqHz)
	const heardDB = 0.5 // our choice: less at this place is the edge of a filter elsewhere
	switch least := min(a, b); {
	case math.Abs(a-b) < heardDB:
	case least <= -heardDB:
		return a < b, PlanLowers
	case least < heardDB:
		return a < b, PlanLiftsOther
	}
	own := func(t *track) float64 { return s.zonePower(t.power)[p.Zone] / max(floats.Sum(t.power), tiny) }
	return own(s.tracks[p.A]) <= own(s.tracks[p.B]), NeedsLess
}

// meetingThird returns the third octave of a pair's zone in which both have most energy at once.
func (s *session) meetingThird(p *Pair, rows []int) int {
	a, b := s.tracks[p.A], s.tracks[p.B]
	best, at := -1.0, 0
	for third := range multitrack.Thirds {
		if thirdZone(third) != p.Zone {
			continue
		}
		both := 0.0
		for _, row := range rows {
			x, _ := a.cell(row, third)
			y, _ := b.cell(row, third)
			both += min(x, y)
		}
		if both > best {
			best, at = both, third
		}
	}
	return at
}

// qOf returns the Q of a bell with this width in octaves between its half-gain points.
func qOf(octaves float64) float64 { return 1 / (2 * math.Sinh(math.Ln2/2*octaves)) }

// dialled returns the frequency of the default equaliser nearest to hz, in octaves.
func dialled(hz, rateHz float64) float64 {
	best := hz
	apart := math.Inf(1)
	for _, v := range fit.Default().Bell.FreqHz.Values {
		if d := math.Abs(math.Log(v / hz)); d < apart && v < 0.45*rateHz {
			best, apart = v, d
		}
	}
	return best
}

// bandOf returns the band that contains a frequency, the last one for frequencies above all.
func bandOf(hz float64) int {
	for b := range spectrum.BandCount {
		if hz < spectrum.EdgeHz(b+1) {
			return b
		}
	}
	return spectrum.BandCount - 1
}

// The presence range, in which a track comes forward or steps back. Common practice, no source.
const presenceLowHz, presenceHighHz = 2000, 8000

// presence reports whether most of a zone lies in the presence range, measured in octaves.
func presence(zone int) bool {
	z := match.Zones()[zone]
	in := math.Log2(min(z.HighHz, presenceHighHz) / max(z.LowHz, presenceLowHz))
	return in > 0.5*math.Log2(z.HighHz/z.LowHz)
}

// Placing is a small move that brings a track forward or back.
type Placing struct {
	Track  int
	Front  bool
	Filter biquad.Filter
	TrimDB float64 // keeps the track's own loudness
	MixDB  float64 // effect on the mix at the filter's frequency
}

// placings returns a move for each track in Front or Back: a boost or a cut between 2 and 8 kHz.
// Common practice, no source. Its size is our choice, half of the largest cut for a pair.
func (s *session) placings(o Options) []Placing {
	const gainDB, freqHz, q = 1.5, 4000, 0.7
	var all []Placing
	for i, t := range s.tracks {
		front, back := slices.Contains(o.Front, i), slices.Contains(o.Back, i)
		if t.state != Heard || !front && !back || freqHz > 0.45*s.RateHz {
			continue
		}
		f := biquad.Filter{Shape: biquad.Bell, FreqHz: freqHz, GainDB: gainDB, Q: q}
		if back {
			f.GainDB = -gainDB
		}
		all = append(all, Placing{Track: i, Front: front, Filter: f, TrimDB: -s.loudnessChange(t, []biquad.Filter{f}),
			MixDB: s.effect([]*track{t}, []biquad.Filter{f})[bandOf(freqHz)]})
	}
	return all
}
