package match

import (
	"math"
	"slices"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/match/uncertainty"
	"toneplumb/spectrum"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
)

// findings returns the findings about the comparison and the moves.
func (r *Result) findings() finding.List {
	all := r.Comparison.findings()
	// Both distances are printed with two decimals. The target counts broad trends, the
	// distance every band alike, so a smaller residual can have a larger distance.
	if after, before := math.Round(100*r.DistanceAfterDB), math.Round(100*r.DistanceBeforeDB); len(r.Moves) > 0 && after > before {
		all = append(all, WiderApart{r.DistanceBeforeDB, r.DistanceAfterDB, len(r.References)})
	}
	if out, does := r.standsOut(); does {
		all = append(all, out)
	}
	if len(r.Moves) > 0 && r.Mix != nil && !r.followed && r.DistanceBeforeDB > r.SolveOptions.Stage.doubtedDB(len(r.References)) {
		all = append(all, FarApart{ApartDB: r.DistanceBeforeDB, References: len(r.References)})
	}
	if far, does := r.reachesOut(); does {
		all = append(all, far)
	}
	return all.With(moveFindings(r.Moves, r.RateHz)...)
}

// FarApart says that songs by one maker are seldom so far apart as a mix and its references: a rough one, or one
// that follows them as measured, where a rough one is told to choose others.
// A mix whose own fault is that large gains much, any other is harmed: testdata/README.md, "Small faults
// at the stage rough".
type FarApart struct {
	ApartDB    float64 // rms, ignoring level
	References int
	Headed     bool // a headline above says what to do
}

func (FarApart) Code() string               { return "far-apart" }
func (FarApart) Severity() finding.Severity { return finding.Warning }

// doubtedDB returns the distance beyond which references are put in doubt beside moves.
func (s Stage) doubtedDB(references int) float64 {
	switch s {
	case Rough:
		return UsuallyWithinDB
	case AsMeasured:
		return Rough.farthestDB(references) // beyond that a rough mix gets no moves
	}
	return math.Inf(1) // a finished mix gets no moves beyond less
}

// UsuallyWithinDB is the distance that nine of ten pairs of songs by one maker keep; see
// testdata/README.md, "How far apart songs are".
const UsuallyWithinDB = 7.8

// StandsOut says that the references stand out from most songs in a zone, so that
// their difference from the mix there is followed less.
type StandsOut struct {
	Zone
	DB         float64 // more than most songs have if positive
	References int
}

func (StandsOut) Code() string               { return "stands-out" }
func (StandsOut) Severity() finding.Severity { return finding.Info }

// songsDB are the standard deviations of 139 songs in each of the [Zones], level and half the slope
// ignored, in dB; see testdata/README.md, "Decision 1d". A reference beyond farOut of them stands
// out. Our choice: 1 song in 15 does.
var songsDB = [...]float64{7.4, 2.8, 3.2, 3.7, 2.6, 4.5, 5.3}

const farOut = 2.6

// standsOut returns the zone in which the references stand out most.
func (r *Result) standsOut() (most StandsOut, does bool) {
	if r.uncertainty == nil || len(r.Moves) == 0 && r.Outlook != NoneHelps || r.SolveOptions.Stage == AsMeasured || r.ownSong() {
		return most, false
	}
	points := r.uncertainty.Points
	out := uncertainty.Outstanding(r.referenceDB, points)
	far := farOut
	bands := r.zoneBands()
	for i, z := range Zones() {
		sum, n := 0.0, 0.0
		for k, b := range points {
			if slices.Contains(bands[i], b) { // none in a zone of which little is judged
				sum += out.AtVec(k)
				n++
			}
		}
		if apart := math.Abs(sum/n) / songsDB[i]; apart > far { // false for a zone without points
			most, far, does = StandsOut{z, sum / n, len(r.References)}, apart, true
		}
	}
	return most, does
}

// ReachesOut says that the moves do much where nothing is judged: above or below Hz.
type ReachesOut struct {
	Above bool
	Hz    float64
	DB    float64 // mean of what they do there, level as in FittedDB
}

func (ReachesOut) Code() string               { return "reaches-out" }
func (ReachesOut) Severity() finding.Severity { return finding.Caution }

// reachesOut returns what the moves do beyond an end of the judged range, where an octave and more of
// the range that was asked for is not judged. Our choice of limits: half an octave is what most MP3s cut off, and
// largeDB is what a single move is remarked on for.
func (r *Result) reachesOut() (far ReachesOut, does bool) {
	low, high := r.JudgedHz()
	if len(r.Moves) == 0 || r.Mix == nil || low == 0 {
		return far, false
	}
	for _, end := range []struct {
		above        bool
		fromHz, toHz float64
	}{{false, r.Options.RangeHz[0], low}, {true, high, min(r.Options.RangeHz[1], r.RateHz/2)}} {
		sum, n := 0.0, 0.0
		for b, hz := range spectrum.Centres() {
			if hz > end.fromHz && hz < end.toHz {
				sum += r.FittedDB[b]
				n++
			}
		}
		if mean := sum / n; n >= spectrum.BandsPerOctave && math.Abs(mean) > max(largeDB, math.Abs(far.DB)) {
			far, does = ReachesOut{end.above, low, mean}, true
			if end.above {
				far.Hz = high
			}
		}
	}
	return far, does
}

// WiderApart says that the moves leave the mix farther from the references than it was.
type WiderApart struct {
	BeforeDB, AfterDB float64
	References        int
}

func (WiderApart) Code() string               { return "wider-apart" }
func (WiderApart) Severity() finding.Severity { return finding.Warning }

// LargeMoves lists the moves, from 1, that are larger than a master bus usually takes.
type LargeMoves struct{ Moves []int }

func (LargeMoves) Code() string               { return "large-moves" }
func (LargeMoves) Severity() finding.Severity { return finding.Caution }

// AddUp says that moves together do clearly more in one place than the largest of them.
type AddUp struct{ DB, Hz float64 }

func (AddUp) Code() string               { return "add-up" }
func (AddUp) Severity() finding.Severity { return finding.Caution }

// VoiceMoves lists the moves, from 1, that work where voices are.
type VoiceMoves struct{ Moves []int }

func (VoiceMoves) Code() string               { return "voice-moves" }
func (VoiceMoves) Severity() finding.Severity { return finding.Caution }

// TopMoves lists the moves, from 1, at frequencies where equalisers differ.
type TopMoves struct{ Moves []int }

func (TopMoves) Code() string               { return "top-moves" }
func (TopMoves) Severity() finding.Severity { return finding.Info }

// Limits of single moves. Common practice, no source, from memory. 3 dB is often named as the
// most for a master bus, but 15 of 20 pairs of songs had such a move, too many for a remark;
// 7 had one over largeDB.
const (
	largeDB, addedDB         = 4.5, 1.5 // addedDB: two steps of a common dial and more
	voiceFromHz, voiceUpToHz = 1000, 5000
	voiceDB, voiceOfLeadDB   = 2, 1 // the lower if a single track was named, see SetLead
	topHz                    = 8000
)

// moveFindings returns the findings about the moves alone, at a sampling rate.
func moveFindings(moves []Move, rateHz float64) finding.List {
	var all finding.List
	if which := someMoves(moves, func(f biquad.Filter) bool { return math.Abs(f.GainDB) > largeDB }); which != nil {
		all = append(all, LargeMoves{which})
	}
	if sum := sumOf(moves, rateHz); math.Abs(sum.DB) > largeDB && math.Abs(sum.DB) > largestDB(moves)+addedDB {
		all = append(all, sum)
	}
	if which := voiceMoves(moves, voiceDB); which != nil {
		all = append(all, VoiceMoves{which})
	}
	if which := someMoves(moves, func(f biquad.Filter) bool { return f.FreqHz > topHz }); which != nil {
		all = append(all, TopMoves{which})
	}
	return all
}

// sumOf returns what the moves do together where they do most.
func sumOf(moves []Move, rateHz float64) (most AddUp) {
	filters := make([]biquad.Filter, len(moves))
	for i, m := range moves {
		filters[i] = m.Filter
	}
	centres := spectrum.Centres()
	for b, db := range biquad.ResponseDB(nil, filters, centres, rateHz) {
		if math.Abs(db) > math.Abs(most.DB) {
			most = AddUp{db, centres[b]}
		}
	}
	return most
}

// largestDB returns the size of the largest gain.
func largestDB(moves []Move) (most float64) {
	for _, m := range moves {
		most = max(most, math.Abs(m.GainDB))
	}
	return most
}

// isOfMoves reports whether a finding is one of [moveFindings].
func isOfMoves(f finding.Finding) bool {
	switch f.(type) {
	case LargeMoves, AddUp, VoiceMoves, TopMoves:
		return true
	}
	return false
}

// voiceMoves returns the numbers of the moves of at least leastDB where voices are.
func voiceMoves(moves []Move, leastDB float64) []int {
	return someMoves(moves, func(f biquad.Filter) bool {
		return math.Abs(f.GainDB) >= leastDB && f.FreqHz >= voiceFromHz && f.FreqHz <= voiceUpToHz
	})
}

// someMoves returns the numbers, from 1, of the moves for which is returns true.
func someMoves(moves []Move, is func(f biquad.Filter) bool) []int {
	var which []int
	for i, m := range moves {
		if is(m.Filter) {
			which = append(which, i+1)
		}
	}
	return which
}

// LeadLU returns by how many LU the settings bring a single track out of the mix (below 0:
// further in). That is the change of the track's K-weighted power through moves and trim,
// less the change of the mix's loudness. inMix is the track's power per band as it sits in
// the mix, see multitrack.CoherentPower.
func LeadLU(mix *measure.Recording, inMix []float64, s *document.Settings) float64 {
	gain := s.PowerGain()
	k := loudness.Weighting(spectrum.Centres(), float64(mix.Format.RateHz))
	before, after := 0.0, 0.0
	for b, p := range inMix {
		before += k[b] * p
		after += k[b] * p * gain[b]
	}
	return spectrum.PowerToDB(after/before) - mix.ChangeThrough(gain)
}

// Lead is how the moves change a single track's level in the mix.
type Lead struct {
	Name     string  // as it is written
	ChangeLU float64 // further out of the mix; below 0: further in
}

// SetLead records how the moves change a single track's level. A user who names a track cares
// about the voice, so smaller moves already give [VoiceMoves] then, unless they are dialled already and kept.
func (r *Result) SetLead(l Lead) {
	r.Lead = &l
	which := voiceMoves(r.Moves, voiceOfLeadDB)
	if which == nil || slices.ContainsFunc(r.Warnings, func(f finding.Finding) bool { p, is := f.(PreviousMoves); return is && p.Use == Held }) {
		return
	}
	r.Warnings = slices.DeleteFunc(slices.Clone(r.Warnings), func(f finding.Finding) bool { _, is := f.(VoiceMoves); return is }).With(VoiceMoves{which})
}
