package tracks

import (
	"math"
	"slices"

	"toneplumb/spectrum"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure/multitrack"
)

const (
	// placeDB is how far the gain at which a track stands in the mix may be from its
	// own before it is believed. Our choice: notes that two tracks play in unison
	// pretend a decibel.
	placeDB = 2
	// lagLeast is how like a track and the mix must be at the same start, of what
	// they are at the best lag, not to be warned of a lag. Our choice.
	lagLeast = 0.8
	// lateLeast and lateMore: an absent track is said to start at another time
	// when its levels and the mix's correlate by lateLeast there and by
	// lateMore more than at the same start. Our choice.
	lateLeast, lateMore = 0.4, 0.2
	// lateMostSec is the largest start that is looked for. Our choice.
	lateMostSec = 60
)

// rareCoherence is the coherence that chance hardly reaches over so many windows: ten
// times what it has by itself, half overlapped windows being worth two thirds of
// their number. As multitrack.CoherentPower has it.
func rareCoherence(windows int) float64 { return 10 * 1.5 / float64(max(1, windows)) }

// briefLeast is the largest coherence that may be asked of a track to be in the mix:
// where one sounds for so few windows that chance reaches more, it is taken as it is given.
// Our choice: 17 s of sound ask for as much as a track has that is 8 dB under the mix.
const briefLeast = 0.15

// louderThanMix: a track with so many times the power of the whole mix is not there as it is given.
// Our choice: 6 dB; of two microphones against one another each may be louder than their sum.
const louderThanMix = 4

// strayDB: a track that fits better at another start, and of which the mix has so much less at
// this one, is there by chance. Our choice.
const strayDB = 10

// shortLagSec is a delay with which a track still counts: its lows run with the mix, whatever
// its highs do there. Our choice: sound takes 1 ms for a third of a metre.
const shortLagSec = 0.001

// counted are the windows that pass the gate.
func (s *session) counted() int {
	seconds := 0.0
	for _, w := range s.Gate {
		seconds += w
	}
	return int(seconds * spectrum.WindowsPerSecond)
}

// lagOfTrack returns by how many seconds a track that is not in the mix at its start runs behind
// it, NaN where that is not to be seen: by its levels over time, or by the peak of their
// cross-correlation if most of the track runs with the mix in any phase.
func (s *session) lagOfTrack(t *track) float64 {
	if late := s.delaySec(t); !math.IsNaN(late) {
		return late
	}
	if t.WithoutLag < lagLeast && s.inAnyPhase(t) {
		return float64(t.LagFrames) / s.RateHz
	}
	return math.NaN()
}

// inAnyPhase tells that most of a track runs with the mix, in step or not.
func (s *session) inAnyPhase(t *track) bool {
	const most = 0.5 // our choice
	alike, all, rare := 0.0, 0.0, rareCoherence(s.counted())
	for b, p := range t.Power {
		all += s.k[b] * p
		if t.Re[b]*t.Re[b]+t.Im[b]*t.Im[b] > rare*p*s.MixPower[b] {
			alike += s.k[b] * p
		}
	}
	return alike > most*all
}

// sounding are the seconds in which a track is no more than soundsDB under its loudest.
func sounding(t *multitrack.Track) (seconds []int) {
	const soundsDB = 40 // our choice: below are tails and leaks
	power := make([]float64, len(t.RowPower)/multitrack.Thirds)
	strongest := 0.0
	for i, p := range t.RowPower {
		power[i/multitrack.Thirds] += float64(p)
		strongest = max(strongest, power[i/multitrack.Thirds])
	}
	for row, p := range power {
		if p > 0 && p >= strongest*spectrum.DBToPower(-soundsDB) {
			seconds = append(seconds, row)
		}
	}
	return seconds
}

// place finds how a track stands in the mix: the gain g that makes g·T nearest to what
// of the mix runs as the track does, Re⟨T·M*⟩/⟨|T|²⟩, K-weighted over the third octaves
// in which the two run together at all.
func (s *session) place(from *multitrack.Track) *track {
	t := &track{Track: from, gain: 1, estimatedGain: 1, duplicateOf: -1, lagSec: math.NaN()}
	t.power, t.re, t.im = from.Power, from.Re, from.Im
	if loud := loudness.Integrated(from.StepPower); math.IsInf(loud, -1) {
		t.state = Silent
		return t
	}
	seconds := sounding(from) // elsewhere the mix says nothing of it
	if !slices.ContainsFunc(seconds, func(row int) bool { return row < len(s.Gate) && s.Gate[row] > 0 }) {
		t.belowGate = true
		return t
	}
	if short := float64(from.LagFrames) / s.RateHz; from.WithoutLag < lagLeast && math.Abs(short) <= shortLagSec && s.inAnyPhase(t) {
		t.lagSec = short
		return t
	}
	rare := rareCoherence(len(seconds) * spectrum.WindowsPerSecond)
	together, alone, ofMix := s.runTogether(from, seconds, rare)
	if alone == 0 || together == 0 {
		if rare > briefLeast {
			t.tooBrief = true
			return t
		}
		t.state, t.lagSec = Absent, s.lagOfTrack(t)
		return t
	}
	g := together / alone
	if from.WithoutLag < lagLeast {
		t.lagSec = float64(from.LagFrames) / s.RateHz
		if late := s.delaySec(t); spectrum.PowerToDB(g*g) < -strayDB || !math.IsNaN(late) {
			t.state, t.lagSec = Absent, s.lagOfTrack(t) // notes of the same song, at other moments
			return t
		}
	}
	t.setGain(g, alone > louderThanMix*ofMix)
	return t
}

// runTogether sums, K-weighted and over the third octaves in which a track and the mix run
// together in these seconds, Re⟨T·M*⟩, ⟨|T|²⟩ and ⟨|M|²⟩. Coherence up to rare is chance.
func (s *session) runTogether(from *multitrack.Track, seconds []int, rare float64) (together, alone, ofMix float64) {
	var power, mix, re [multitrack.Thirds]float64
	for _, row := range seconds {
		for third := range power {
			i := row*multitrack.Thirds + third
			power[third] += float64(from.RowPower[i])
			mix[third] += float64(s.RowMix[i])
			re[third] += float64(from.RowRe[i])
		}
	}
	strongest := slices.Max(power[:])
	for third := range multitrack.Thirds {
		kx, kp, km := 0.0, 0.0, 0.0
		first, to := multitrack.ThirdBands(third)
		for b := first; b < to; b++ {
			kx, kp, km = kx+s.k[b]*from.Re[b], kp+s.k[b]*from.Power[b], km+s.k[b]*s.MixPower[b]
		}
		const rangeDB = 50 // under its strongest third octave a track is its own leaks; as multitrack.CoherentPower has it
		if p, x := power[third], re[third]; p > strongest*spectrum.DBToPower(-rangeDB) && x*x > rare*p*mix[third] {
			together, alone, ofMix = together+kx, alone+kp, ofMix+km
		}
	}
	return together, alone, ofMix
}

// setGain sets the estimated gain to g where that is far from the track's own in level, or to −1
// if it is inverted alone. The gain itself becomes g only where the track cannot stand in the mix
// as it is, being far louder than all of it.
func (t *track) setGain(g float64, louder bool) {
	db := spectrum.PowerToDB(g * g)
	switch {
	case math.Abs(db) > placeDB:
		t.estimatedGain = g
	case g < 0:
		t.estimatedGain = -1
	}
	if db < -placeDB && louder {
		t.gain = g
	}
}

// settleGains takes over the gains at which tracks seem to stand in the mix, as far as with them
// the tracks explain more of it. Two tracks that share a sound, as two
// microphones of one instrument do, each seem louder than they are, but their sum is the
// mix already. Each time it takes the gain that leaves least of the mix.
func (s *session) settleGains() {
	// Our choice: the rest must shrink by half of what the gain adds or takes.
	const least = 0.5
	rest := make([]float64, len(s.MixPower)) // of the mix, K-weighted
	for b, m := range s.MixPower {
		rest[b] = s.k[b] * m
	}
	add := func(t *track, gain float64) (left, changed float64) {
		for b, r := range rest {
			d := s.k[b] * gain * t.re[b]
			left += math.Abs(r-d) - math.Abs(r)
			changed += math.Abs(d)
		}
		return left, changed
	}
	take := func(t *track, gain float64) {
		for b := range rest {
			rest[b] -= s.k[b] * gain * t.re[b]
		}
	}
	for _, t := range s.heard() {
		take(t, t.gain)
	}
	for {
		var best *track
		bestLeft := 0.0
		for _, t := range s.heard() {
			if t.gain == 1 && t.estimatedGain != 1 {
				if left, changed := add(t, t.estimatedGain-1); left < bestLeft && left < -least*changed {
					best, bestLeft = t, left
				}
			}
		}
		if best == nil {
			break
		}
		take(best, best.estimatedGain-1)
		best.gain = best.estimatedGain
	}
	others := s.commonGain()
	for _, t := range s.tracks {
		if t.tooBrief {
			t.gain = others
		}
		if g := t.gain; g != 1 {
			t.power, t.re, t.im = times(t.Power, g*g), times(t.Re, g), times(t.Im, g)
		}
	}
}

// commonGain is the gain of all tracks that are found in the mix, 1 where they have none in
// common: what a fader on the master does.
func (s *session) commonGain() float64 {
	const fewest = 3  // our choice
	var all []float64 // dB
	for _, t := range s.heard() {
		if !t.tooBrief && !t.belowGate && t.gain > 0 {
			all = append(all, spectrum.PowerToDB(t.gain*t.gain))
		}
	}
	slices.Sort(all)
	if len(all) < fewest || all[len(all)-1]-all[0] > placeDB || math.Abs(all[len(all)/2]) <= placeDB {
		return 1
	}
	return math.Sqrt(spectrum.DBToPower(all[len(all)/2]))
}

func times(x []float64, by float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = by * v
	}
	return y
}

// cell returns |T|² and Re(T·M*) of a second and a third octave as the track stands in
// the mix.
func (t *track) cell(second, third int) (power, re float64) {
	i := second*multitrack.Thirds + third
	return t.gain * t.gain * float64(t.RowPower[i]), t.gain * float64(t.RowRe[i])
}
