// Package tracks tells which single track of a mix carries what the moves of package
// match would change on the master, and whether the better move is there; which
// tracks stand in one another's way; and how loud each stays.
//
// The path most callers need: match.Compare and Solve, multitrack.Measure over the tracks
// with the mix, then Advise, then the Advice's Measure, which reads the tracks that are to be
// moved once more.
//
// Limits: the tracks are as they stand in the mix, with their faders and pans, but for one
// gain each, which is found; what the master's own processing adds is in no track and
// appears as unexplained.
//
// It builds on match; only the command line uses it.
package tracks

import (
	"math"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/spectrum"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure/multitrack"
)

// Options say what the person knows of the song.
type Options struct {
	Front, Back []int // tracks that are to stand in front or behind, by their number from 0
	Groups      []Group
	Plain       bool // tracks are called by their numbers, not by their files
}

// Advice is what is to be said about the single tracks of a mix.
type Advice struct {
	Result   *match.Result
	Together *multitrack.Table
	Tracks   []Track
	Groups   []Group
	Zones    []Zone
	Moves    []Move // one for each of the result's
	Pairs    []Pair // the longest first
	LowCuts  []LowCut
	Placings []Placing
	Plan     *Plan     // nil where nothing can be said of balance
	Findings []Finding // what makes it doubtful
	Already  bool      // the mix is read without moves that it already runs through

	session *session
}

// Track is what is found of one single track.
type Track struct {
	Name string // in all that is written; without the extension, or "track 3"
	File string // likewise, with the extension
	Path string // to read it again

	State       State
	DuplicateOf int // of State Duplicate: the track it is the same sound as

	// PlaceDB is how much louder the track stands in the mix than it is by itself, and
	// Inverted that it stands there with its polarity inverted; all else is told of
	// it as it stands there. PlaceDB is 0 where the two agree within placeDB.
	PlaceDB  float64
	Inverted bool

	LateFrames int // by which it was shifted earlier; below 0 later

	LoudnessLUFS float64   // as it stands in the mix; −Inf for silence
	ShareOfZones []float64 // Re⟨T·M*⟩/⟨|M|²⟩, for each zone
	OwnZones     []float64 // how its own power is spread over the zones; sums to 1
	MoveLU       []float64 // what each move on the master does to its loudness, without trim
	AllMovesLU   float64   // what all of them do together, without trim
}

// Gain is the amplitude at which the track stands in the mix, below 0 inverted.
func (t *Track) Gain() float64 {
	g := math.Pow(10, t.PlaceDB/20)
	if t.Inverted {
		return -g
	}
	return g
}

// SumName stands for the path and the name of a mix that is the sum of its tracks.
const SumName = "the tracks' sum"

// State says whether a track counts.
type State uint8

// The states.
const (
	Heard     State = iota
	Silent          // nothing louder than −70 LUFS
	Absent          // its sound is not in the mix, not with the same start at least
	Duplicate       // the same sound as another track
)

// Zone is one of match.Zones with what no track explains of it.
type Zone struct {
	match.Zone
	RestShare float64 // 1 less the shares of all tracks
}

// Advise tells about the tracks of r's mix, read in step with it. It panics if r has no
// recording of the mix.
func Advise(r *match.Result, together *multitrack.Table, o Options) *Advice {
	s := newSession(r, together, o)
	a := &Advice{Result: r, Together: together, Tracks: s.facts(), Groups: o.Groups, session: s}
	for z, zone := range match.Zones() {
		rest := 1.0
		for _, t := range a.Tracks {
			rest -= t.ShareOfZones[z]
		}
		a.Zones = append(a.Zones, Zone{zone, rest})
	}
	a.Plan = s.plan()
	a.Moves = s.moves(o)
	a.Pairs = s.pairs(o, a.Plan)
	a.LowCuts = s.lowCuts()
	a.Placings = s.placings(o)
	a.Findings = s.findings()
	return a
}

// session is the work on one mix.
type session struct {
	*multitrack.Table
	r        *match.Result
	tracks   []*track
	groups   []Group
	k        []float64 // K-weighting per band
	judged   []bool
	smoother *spectrum.Smoother
	seconds  []int // that count

	coherence [][][multitrack.Thirds]float64 // of each two tracks
	sum       *additive                      // nil before it is measured
	widthsDB  []float64                      // what widths that are set do to the mix, per band; nil: none are
}

// track is a track as it stands in the mix.
type track struct {
	*multitrack.Track
	name, file    string // in what is written
	state         State
	duplicateOf   int
	gain          float64 // amplitude, below 0 inverted
	estimatedGain float64 // the gain by its likeness to the mix alone, see believe
	power, re, im []float64
	lagSec        float64 // by which it seems to start late; NaN: none is seen
	tooBrief      bool    // it sounds too briefly to be found in the mix
	belowGate     bool    // it sounds only where the mix is too soft to count
}

func newSession(r *match.Result, together *multitrack.Table, o Options) *session {
	s := &session{Table: together, r: r, groups: o.Groups, k: loudness.Weighting(spectrum.Centres(), together.RateHz)}
	left := make([]bool, spectrum.BandCount)
	low, high := r.Options.RangeHz[0], r.Options.RangeHz[1]
	s.judged = make([]bool, spectrum.BandCount)
	for b, why := range r.LeftOut {
		left[b] = why.Cause != match.Kept
		hz := spectrum.CentreHz(b)
		s.judged[b] = why.Cause == match.Kept && hz >= low && hz <= high
	}
	s.smoother = spectrum.NewSmoother(left, match.AdviceSmoothOct)
	for row := range together.Rows {
		if row < len(together.Gate) && together.Gate[row] > 0.5 { // our choice: most of the second
			s.seconds = append(s.seconds, row)
		}
	}
	for i := range together.Tracks {
		s.tracks = append(s.tracks, s.place(&together.Tracks[i]))
	}
	s.nameAll(o.Plain)
	s.findDuplicates()
	s.settleGains()
	s.coherence = s.coherences()
	return s
}

// facts returns what is told of each track.
func (s *session) facts() []Track {
	var all []Track
	zones := match.Zones()
	for _, t := range s.tracks {
		f := Track{Name: t.name, File: t.file, Path: t.Path, State: t.state, DuplicateOf: t.duplicateOf,
			ShareOfZones: make([]float64, len(zones)), OwnZones: make([]float64, len(zones)), LoudnessLUFS: math.Inf(-1)}
		if t.state != Silent {
			const steps = 1e4 // those of documents, from which a plan is rendered too
			f.PlaceDB, f.Inverted = math.Round(steps*spectrum.PowerToDB(t.gain*t.gain))/steps, t.gain < 0
			f.LoudnessLUFS = loudness.Integrated(t.StepPower) + f.PlaceDB
		}
		f.LateFrames = int(math.Round(t.ShiftedSec * s.RateHz))
		own, total := s.zonePower(t.power), 0.0
		for _, p := range own {
			total += p
		}
		for z := range zones {
			if total > 0 {
				f.OwnZones[z] = own[z] / total
			}
			if t.state == Heard {
				f.ShareOfZones[z] = s.zonePower(t.re)[z] / max(s.zonePower(s.MixPower)[z], tiny)
			}
		}
		var moves []biquad.Filter
		for _, m := range s.r.Moves {
			moves = append(moves, m.Filter)
			f.MoveLU = append(f.MoveLU, s.loudnessChange(t, []biquad.Filter{m.Filter}))
		}
		f.AllMovesLU = s.loudnessChange(t, moves)
		all = append(all, f)
	}
	return all
}

// tiny keeps quotients of silence finite.
const tiny = 1e-30

// zonePower sums a spectrum over each zone.
func (s *session) zonePower(power []float64) []float64 {
	zones := match.Zones()
	sums := make([]float64, len(zones))
	for b, p := range power {
		sums[zoneOf(spectrum.CentreHz(b))] += p
	}
	return sums
}

// zoneOf returns the number of the zone a frequency lies in.
func zoneOf(hz float64) int {
	zones := match.Zones()
	for z := range zones[:len(zones)-1] {
		if hz < zones[z].HighHz {
			return z
		}
	}
	return len(zones) - 1
}

// heard returns the tracks that count.
func (s *session) heard() []*track {
	var all []*track
	for _, t := range s.tracks {
		if t.state == Heard {
			all = append(all, t)
		}
	}
	return all
}
