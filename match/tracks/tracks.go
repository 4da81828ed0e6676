// Package tracks finds which single tracks of a mix carry a difference from the reference. It
// returns a [Plan] of faders, stereo widths and filters; for each move that package match makes
// on the master, whether a move on a track does better; the pairs of tracks that mask each other;
// and low cuts.
//
// Most callers use [match.Compare] and Solve, then [multitrack.Measure] on the tracks with the
// mix, then [Advise], then [Advice.Measure], which reads the tracks to be changed once more.
//
// Limits: the tracks must be bounced behind their faders and pans. One gain per track may differ,
// and is found. A fader and an equaliser on the master are found too; what else is
// done there is in no track and is reported.
//
// For the method and what was measured see README.md.
package tracks

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/spectrum"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure/multitrack"
)

// Options are what the person tells about the song.
type Options struct {
	Front, Back []int // tracks to bring forward or put back, by number from 0
	Groups      []Group
	Plain       bool // name tracks by number, not by file
}

// Advice is the result of [Advise].
type Advice struct {
	Result   *match.Result
	Together *multitrack.Table
	Tracks   []Track
	Groups   []Group
	Zones    []Zone
	Moves    []Move // one for each of Result.Moves
	Pairs    []Pair // the longest first
	LowCuts  []LowCut
	Placings []Placing
	Plan     *Plan     // nil if the comparison allows none
	Findings []Finding // what makes the results doubtful
	Already  bool      // the moves the mix already runs through were removed before measuring

	session *session
	options Options
}

// SameSong reports whether a reference is the mix's own song.
func (a *Advice) SameSong() bool { return slices.Contains(a.Result.SameSong, true) }

// Track holds the results about one single track.
type Track struct {
	Name string // as written in all output: the file's without extension, or "track 3"
	File string // likewise, with the extension
	Path string // to read it again

	State       State
	DuplicateOf int // the track it duplicates, if State is Duplicate; else −1

	// PlaceDB is how much louder the track is in the mix than in its file, 0 where the two agree
	// within 2 dB. Inverted reports whether its polarity is inverted in the mix. All other fields
	// are about the track with both applied.
	PlaceDB  float64
	Inverted bool

	LateFrames int // frames it was shifted earlier; below 0: later

	LoudnessLUFS float64   // with PlaceDB; −Inf for silence
	ShareOfZones []float64 // Re⟨T·M*⟩/⟨|M|²⟩ for each of [match.Zones]
	OwnZones     []float64 // distribution of its own power over the zones; sums to 1
	MoveLU       []float64 // for each move on the master, the change of its loudness without trim
	AllMovesLU   float64   // the change with all moves together, without trim
}

// Gain returns the track's amplitude gain in the mix; below 0: inverted.
func (t *Track) Gain() float64 {
	g := spectrum.DBToAmp(t.PlaceDB)
	if t.Inverted {
		return -g
	}
	return g
}

// SumName is the path and name of a mix that is the sum of its tracks.
const SumName = "the tracks' sum"

// State says whether a track is used.
type State uint8

// The states.
const (
	Heard     State = iota // it is used
	Silent                 // nothing is louder than −70 LUFS
	Absent                 // its sound is not in the mix, at least not at the same start
	Duplicate              // the same sound as another track
)

// Zone is one of [match.Zones] with the share that no track explains.
type Zone struct {
	match.Zone
	RestShare float64 // 1 minus the shares of all tracks
}

// Advise returns the advice about the tracks of r's mix, which were measured together with it. It
// reads no files; see [Advice.Measure]. It panics if r has no recording of the mix.
func Advise(r *match.Result, together *multitrack.Table, o Options) *Advice {
	s := newSession(r, together, o)
	a := &Advice{Result: r, Together: together, Tracks: s.facts(), Groups: o.Groups, session: s, options: o}
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
	a.LowCuts = s.lowCuts(a.Plan)
	a.Placings = s.placings(o)
	a.Findings = s.findings()
	return a
}

// session holds the work on one mix.
type session struct {
	*multitrack.Table
	r        *match.Result
	tracks   []*track
	groups   []Group
	k        []float64 // K-weighting per band
	judged   spectrum.Judged
	smoother *spectrum.Smoother
	seconds  []int // rows that pass the gate

	coherence [][][multitrack.Thirds]float64 // see coherences
	master    []float64                      // the equaliser on the tracks' sum per third octave, as a factor; nil: none
	sum       *additive                      // nil before it is measured
	widthsDB  []float64                      // effect of the widths set on the mix, per band; nil: none set
}

// track is a track at its gain in the mix.
type track struct {
	*multitrack.Track
	name, file    string // in output
	state         State
	duplicateOf   int
	gain          float64   // amplitude, below 0 inverted
	master        []float64 // the session's; nil: none
	estimatedGain float64   // from the coherence with the mix alone, see settleGains
	power, re, im []float64
	lagSec        float64 // by which it seems to start late; NaN: unknown
	tooBrief      bool    // it sounds too briefly to be found in the mix
	belowGate     bool    // it sounds only where the mix is below the gate
}

func newSession(r *match.Result, together *multitrack.Table, o Options) *session {
	s := &session{Table: together, r: r, groups: o.Groups, smoother: r.Smoother(), k: loudness.Weighting(spectrum.Centres(), together.RateHz)}
	low, high := r.Options.RangeHz[0], r.Options.RangeHz[1]
	s.judged = make(spectrum.Judged, spectrum.BandCount)
	for b, why := range r.LeftOut {
		hz := spectrum.CentreHz(b)
		s.judged[b] = why.Cause == match.Kept && hz >= low && hz <= high
	}
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

// facts returns the results about each track.
func (s *session) facts() []Track {
	var all []Track
	zones := match.Zones()
	for _, t := range s.tracks {
		f := Track{Name: t.name, File: t.file, Path: t.Path, State: t.state, DuplicateOf: t.duplicateOf,
			ShareOfZones: make([]float64, len(zones)), OwnZones: make([]float64, len(zones)), LoudnessLUFS: math.Inf(-1)}
		if t.state != Silent {
			const steps = 1e4 // per dB, as in documents, from which a plan can also be rendered
			f.PlaceDB, f.Inverted = math.Round(steps*spectrum.PowerToDB(t.gain*t.gain))/steps, t.gain < 0
			f.LoudnessLUFS = loudness.Integrated(t.StepPower) + f.PlaceDB
		}
		f.LateFrames = int(math.Round(t.ShiftedSec * s.RateHz))
		own := s.zonePower(t.power)
		total := floats.Sum(own)
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

// zoneOf returns the number of the zone that contains a frequency.
func zoneOf(hz float64) int {
	zones := match.Zones()
	for z := range zones[:len(zones)-1] {
		if hz < zones[z].HighHz {
			return z
		}
	}
	return len(zones) - 1
}

// heard returns the tracks that are used.
func (s *session) heard() []*track {
	var all []*track
	for _, t := range s.tracks {
		if t.state == Heard {
			all = append(all, t)
		}
	}
	return all
}
