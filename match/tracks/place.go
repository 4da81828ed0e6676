package tracks

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/spectrum"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure/multitrack"
)

const (
	// placeDB is how far a track's gain in the mix may be from 1 before the estimate is used. Our
	// choice: notes that two tracks play in unison can feign a decibel.
	placeDB = 2
	// lagLeast is the smallest likeness of track and mix at the same start, relative to that at the
	// best lag, that brings no warning of a lag. Our choice.
	lagLeast = 0.8
	// An absent track is reported to start at another time if its levels correlate with the mix's
	// by lateLeast there, and by lateMore more than at the same start. Our choice.
	lateLeast, lateMore = 0.4, 0.2
	// lateMostSec is the largest offset searched, either way. Our choice.
	lateMostSec = 60
)

// rareCoherence returns a coherence that chance rarely reaches with this number of windows: ten
// times its mean. Windows that overlap by half are worth two thirds of their number. See
// multitrack.CoherentPower.
func rareCoherence(windows int) float64 { return 10 * 1.5 / float64(max(1, windows)) }

// briefLeast is the largest coherence a track may need to be found in the mix. A track that sounds
// in so few windows that chance reaches more keeps the gain of its file. Our choice: with 17 s of
// sound, a track 8 dB under the mix has just enough.
const briefLeast = 0.15

// louderThanMix is a power ratio: a track louder than the whole mix by more cannot be in it at its
// own gain. Our choice: 6 dB; of two microphones in opposite polarity each may be louder than
// their sum.
const louderThanMix = 4

// strayDB: a track that fits better at another start, and is this much softer in the mix at this
// one, is found here by chance. Our choice.
const strayDB = 10

// shortLagSec is the largest delay at which a track is still heard: its lows are in phase with the
// mix, whatever its highs are. Our choice: sound takes 1 ms for a third of a metre.
const shortLagSec = 0.001

// counted returns the number of windows that pass the gate.
func (s *session) counted() int {
	return int(floats.Sum(s.Gate) * spectrum.WindowsPerSecond)
}

// lagOfTrack returns by how many seconds a track that is not in the mix at its start runs behind
// it; NaN if that is unknown. It uses the levels over time, or the peak of the cross-correlation
// if most of the track is coherent with the mix in any phase.
func (s *session) lagOfTrack(t *track) float64 {
	if late := s.delaySec(t); !math.IsNaN(late) {
		return late
	}
	if t.WithoutLag < lagLeast && s.inAnyPhase(t) {
		return float64(t.LagFrames) / s.RateHz
	}
	return math.NaN()
}

// inAnyPhase reports whether most of a track's loudness is coherent with the mix, whatever the phase.
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

// sounding returns the seconds in which a track is at most soundsDB under its loudest second.
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

// place finds a track's gain in the mix: the g for which g·T is nearest to the part of the mix
// that is coherent with it, Re⟨T·M*⟩/⟨|T|²⟩, K-weighted over the third octaves in which the two
// are coherent at all.
func (s *session) place(from *multitrack.Track) *track {
	t := &track{Track: from, gain: 1, estimatedGain: 1, duplicateOf: -1, lagSec: math.NaN()}
	t.power, t.re, t.im = from.Power, from.Re, from.Im
	if loud := loudness.Integrated(from.StepPower); math.IsInf(loud, -1) {
		t.state = Silent
		return t
	}
	seconds := sounding(from) // the others say nothing about it
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

// runTogether sums Re⟨T·M*⟩, ⟨|T|²⟩ and ⟨|M|²⟩ over these seconds, K-weighted, in the third octaves
// in which a track and the mix are coherent. Coherence up to rare is taken for chance.
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
		const rangeDB = 50 // farther under its strongest third octave a track is window leakage; the same as in multitrack.CoherentPower
		if p, x := power[third], re[third]; p > strongest*spectrum.DBToPower(-rangeDB) && x*x > rare*p*mix[third] {
			together, alone, ofMix = together+kx, alone+kp, ofMix+km
		}
	}
	return together, alone, ofMix
}

// setGain sets estimatedGain to g if its level is far from the track's own, or to −1 if only the
// polarity differs. It sets gain to g only if the track is far louder than the whole mix and so
// cannot be in it at its own gain.
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

// settleGains adopts estimated gains as long as the tracks then explain more of the mix, each time
// the one that leaves least. Two tracks that share a sound, such as two microphones on one
// instrument, each seem louder than they are, although their sum is already the mix.
func (s *session) settleGains() {
	// Our choice: the rest must shrink by half of what the gain adds or removes.
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
	}
	s.throughMaster()
	for _, t := range s.tracks {
		t.power, t.re, t.im = slices.Clone(t.Power), slices.Clone(t.Re), slices.Clone(t.Im)
		for b := range t.power {
			g := t.gainInBand(b)
			t.power[b], t.re[b], t.im[b] = g*g*t.power[b], g*t.re[b], g*t.im[b]
		}
	}
}

// commonGain returns the gain that all tracks found in the mix have in common, as from a fader on
// the master; 1 if they have none.
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
	return spectrum.DBToAmp(all[len(all)/2])
}

// cell returns |T|² and Re(T·M*) of a second and third octave, at the track's gain in the mix.
func (t *track) cell(second, third int) (power, re float64) {
	i := second*multitrack.Thirds + third
	g := t.gainAt(third)
	return g * g * float64(t.RowPower[i]), g * float64(t.RowRe[i])
}

// shared returns Re(T·M*) in a second and third octave.
func (t *track) shared(second, third int) float64 {
	return t.gainAt(third) * float64(t.RowRe[second*multitrack.Thirds+third])
}
