package tracks

import (
	"math"
	"math/cmplx"
	"slices"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure/multitrack"
)

// coherences returns Re⟨T_i·T_j*⟩/√(|T_i|²|T_j|²) of each pair of tracks in each third octave,
// with each track's polarity in the mix. Values that chance alone can reach are set to 0.
func (s *session) coherences() [][][multitrack.Thirds]float64 {
	const rare = 4 // standard deviations; our choice: one of 16,000 chances exceeds it
	all := make([][][multitrack.Thirds]float64, len(s.tracks))
	for i, a := range s.tracks {
		all[i] = make([][multitrack.Thirds]float64, len(s.tracks))
		for j, b := range s.tracks[:i] {
			if a.state != Heard || b.state != Heard || a.Sketch == nil || b.Sketch == nil {
				continue
			}
			for third, c := range spectrum.Coherence(a.Sketch, b.Sketch) {
				if math.Abs(c) < rare*spectrum.SketchDeviation {
					continue
				}
				if (a.gain < 0) != (b.gain < 0) {
					c = -c
				}
				all[i][j][third], all[j][i][third] = c, c
			}
		}
	}
	return all
}

// action is one thing to do: a fader, or a filter on one track, a group or the master.
type action struct {
	track    int           // −1: the master; from the number of tracks on: a group
	gainDB   float64       // the fader's gain
	filter   biquad.Filter // where isFilter
	isFilter bool
}

// kinds is the number of kinds of actions, see kind.
const kinds = 5

// kind orders actions from simple to complex: the fader of a track, the fader of a group, a
// filter on the master, on a group, on a track.
func (s *session) kind(a action) int {
	switch group := a.track >= len(s.tracks); {
	case !a.isFilter && group:
		return 1
	case !a.isFilter:
		return 0
	case a.track < 0:
		return 2
	case group:
		return 3
	}
	return kinds - 1
}

// Group is several tracks with one fader and one equaliser on their sum.
type Group struct {
	Name   string
	Tracks []int // at least one
}

// Members returns the tracks behind a track number of a [Plan]: the track itself, or, for numbers
// from len(a.Tracks) on, the tracks of a group that are [Heard].
func (a *Advice) Members(number int) []int {
	return members(number, len(a.Tracks), a.Groups, func(i int) bool { return a.Tracks[i].State == Heard })
}

func (s *session) members(number int) []int {
	return members(number, len(s.tracks), s.groups, func(i int) bool { return s.tracks[i].state == Heard })
}

func members(number, tracks int, groups []Group, heard func(int) bool) (all []int) {
	if number < tracks {
		return []int{number}
	}
	for _, i := range groups[number-tracks].Tracks {
		if heard(i) {
			all = append(all, i)
		}
	}
	return all
}

// apply holds H−1 of the actions on each track, and the level response of those on the master.
type apply struct {
	delta  map[int][]complex128 // per band
	master []float64            // dB per band
}

func (s *session) apply(actions []action) apply {
	a := apply{delta: map[int][]complex128{}}
	var onMaster []biquad.Filter
	for _, x := range actions {
		if x.track < 0 {
			onMaster = append(onMaster, x.filter)
			continue
		}
		var filter []complex128
		if x.isFilter {
			filter = response([]biquad.Filter{x.filter}, s.RateHz)
		}
		gain := complex(spectrum.DBToAmp(x.gainDB), 0)
		for _, i := range s.members(x.track) {
			h := a.delta[i]
			if h == nil {
				h = slices.Repeat([]complex128{1}, spectrum.BandCount)
				a.delta[i] = h
			}
			for b := range h {
				if x.isFilter {
					h[b] *= filter[b]
				} else {
					h[b] *= gain
				}
			}
		}
	}
	for _, h := range a.delta {
		for b := range h {
			h[b]--
		}
	}
	if onMaster != nil {
		a.master = biquad.ResponseDB(nil, onMaster, spectrum.Centres(), s.RateHz)
	}
	return a
}

// effectOf returns the effect of the actions on the mix, in dB per band:
//
//	|H|²·|M + Σ(H_k−1)·T_k|² = |H|²·(|M|² + 2ΣRe((H_k−1)·T_k·M*) + ΣΣ Re((H_k−1)(H_j−1)*·T_k·T_j*))
func (s *session) effectOf(actions []action) []float64 {
	a := s.apply(actions)
	on := a.tracks()
	db := make([]float64, spectrum.BandCount)
	for b := range db {
		m := s.MixPower[b]
		if m <= tiny {
			continue
		}
		after := m
		for n, i := range on {
			t, d := s.tracks[i], a.delta[i][b]
			after += 2*(real(d)*t.re[b]-imag(d)*t.im[b]) + (real(d)*real(d)+imag(d)*imag(d))*t.power[b]
			for _, j := range on[:n] {
				c := s.coherence[i][j][thirdOfBand(b)]
				after += 2 * real(d*cmplx.Conj(a.delta[j][b])) * c * math.Sqrt(t.power[b]*s.tracks[j].power[b])
			}
		}
		db[b] = spectrum.PowerToDB(max(after, m*deepest) / m)
		if a.master != nil {
			db[b] += a.master[b]
		}
	}
	return db
}

// tracks returns the tracks with an action on them, in order.
func (a apply) tracks() []int {
	var on []int
	for i := range a.delta {
		on = append(on, i)
	}
	slices.Sort(on)
	return on
}

// thirdOfBand returns the third octave that contains a band.
func thirdOfBand(b int) int { return (b + 4) / 8 }

// leaves returns the distance in dB after an effect on the mix, as match computes it: the rms of
// the difference between the mean spectra over the judged bands, its mean removed.
func (s *session) leaves(effectDB []float64) float64 {
	moved := s.smoother.Smooth(nil, effectDB)
	for b, db := range s.r.DifferenceDB {
		moved[b] = db - moved[b]
	}
	return s.judged.Distance(moved)
}
