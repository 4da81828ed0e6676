package tracks

import (
	"cmp"
	"math"
	"slices"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure/multitrack"
)

// FindingKind says what a [Finding] is about.
type FindingKind uint8

// The kinds. The comments give the amount, if any, or the field used.
const (
	DecoderSays     FindingKind = iota // Remark
	IsSilent                           // nothing is louder than −70 LUFS
	IsDuplicate                        // of Other
	IsAbsent                           // its sound is not in the mix
	StartsElsewhere                    // seconds it starts after the mix; it is left out
	IsTheMix                           // it is the whole mix, not a track of it
	IsBelowGate                        // it sounds only where the mix is below the loudness gate
	IsTooBrief                         // to be found in the mix; dB, the gain the other tracks have in common
	IsDelayed                          // seconds it runs behind the mix
	IsShifted                          // seconds it ran late before it was shifted
	IsInverted
	HasOtherLevel  // dB by which it is louder in the mix than in its file
	IsLonger       // seconds after the mix's end
	IsShorter      // seconds before the mix's end
	NotAmongTracks // share of the mix's loudness that no track holds, mostly around FreqHz
	LevelMoves     // dB by which the mix's level moves against the tracks' sum
	OnMaster       // dB that an equaliser on the tracks' sum changes most, around FreqHz
)

// Finding is something that makes the results doubtful, about some tracks or, if Tracks is empty,
// about the mix.
type Finding struct {
	Kind    FindingKind
	Tracks  []int
	Amounts []float64 // one for each track, or one for the mix; units: see the kinds
	Other   int       // a track
	FreqHz  float64
	Remark  audio.Remark
}

// kindCodes are the names of the kinds in JSON; they never change.
var kindCodes = [...]string{"", "silent", "duplicate", "absent", "starts-elsewhere", "is-the-mix", "below-gate", "too-brief",
	"delayed", "shifted", "inverted", "other-level", "longer", "shorter", "not-among-tracks", "level-moves", "on-master"}

// Code returns the name of the kind in JSON, or that of the remark.
func (f *Finding) Code() string { return cmp.Or(kindCodes[f.Kind], f.Remark.Code()) }

// Severity ranks findings: a warning leaves a track out or puts the results in doubt, an info is
// allowed for in the results.
func (f *Finding) Severity() finding.Severity {
	switch f.Kind {
	case StartsElsewhere, IsAbsent, IsTheMix, NotAmongTracks, LevelMoves:
		return finding.Warning
	case IsShifted, IsInverted, IsLonger, IsShorter:
		return finding.Info
	}
	return finding.Caution
}

// byWeight sorts findings by severity, the most severe first.
func byWeight(all []Finding) []Finding {
	slices.SortStableFunc(all, func(a, b Finding) int { return int(b.Severity()) - int(a.Severity()) })
	return all
}

// lengthSec is the smallest difference in length that is reported. Our choice: a reverberation
// tail that only one of two bounces includes is shorter.
const lengthSec = 2

// findings collects findings in order of first appearance and merges alike ones: forty tracks
// bounced with one delay are one finding.
type findings []Finding

func (all *findings) add(f Finding) {
	for i := range *all {
		have := &(*all)[i]
		if have.Kind == f.Kind && have.Other == f.Other && have.Remark == f.Remark && have.Up() == f.Up() && len(f.Tracks) > 0 {
			have.Tracks, have.Amounts = append(have.Tracks, f.Tracks...), append(have.Amounts, f.Amounts...)
			return
		}
	}
	*all = append(*all, f)
}

// Up reports whether a finding's amounts are above 0. Late tracks and early tracks are separate
// findings.
func (f *Finding) Up() bool { return len(f.Amounts) > 0 && f.Amounts[0] > 0 }

// findings returns everything that makes the results doubtful, the most severe first.
func (s *session) findings() []Finding {
	var all findings
	for i := range s.tracks {
		s.trackFindings(&all, i)
	}
	if len(s.heard()) == 0 {
		return byWeight(all)
	}
	db, hz := s.onMaster()
	said := math.Abs(db) > reportedOnMasterDB && s.additive().firm()
	if said {
		all.add(Finding{Kind: OnMaster, Amounts: []float64{db}, FreqHz: hz})
	}
	if a := s.additive(); a.restShare > reportedRestShare && !said {
		all.add(Finding{Kind: NotAmongTracks, Amounts: []float64{a.restShare}, FreqHz: a.restHz})
	}
	if a := s.additive(); a.movesDB > firmMovesDB {
		all.add(Finding{Kind: LevelMoves, Amounts: []float64{a.movesDB}})
	}
	return byWeight(all)
}

// isTheMix reports whether a track is the whole mix.
func (s *session) isTheMix(t *track) bool {
	return sameSound(t.Track, &multitrack.Track{RowPower: s.RowMix})
}

// trackFindings adds the findings about one track, or the reason why it is not heard.
func (s *session) trackFindings(all *findings, i int) {
	t := s.tracks[i]
	add := func(kind FindingKind, amount float64) {
		all.add(Finding{Kind: kind, Tracks: []int{i}, Amounts: []float64{amount}})
	}
	for _, remark := range t.Warnings {
		if !remark.IsMoment() {
			all.add(Finding{Kind: DecoderSays, Tracks: []int{i}, Amounts: []float64{0}, Remark: remark})
		}
	}
	switch {
	case t.state == Silent:
		add(IsSilent, 0)
		return
	case t.state == Duplicate:
		all.add(Finding{Kind: IsDuplicate, Tracks: []int{i}, Amounts: []float64{0}, Other: t.duplicateOf})
		return
	case t.state == Absent && math.IsNaN(t.lagSec):
		add(IsAbsent, 0)
		return
	case t.state == Absent:
		add(StartsElsewhere, t.lagSec)
		return
	}
	if s.isTheMix(t) {
		add(IsTheMix, 0)
	}
	db := spectrum.PowerToDB(t.gain * t.gain)
	switch {
	case t.belowGate:
		add(IsBelowGate, 0)
	case t.tooBrief:
		add(IsTooBrief, db)
	}
	if !math.IsNaN(t.lagSec) {
		add(IsDelayed, t.lagSec)
	}
	if t.ShiftedSec != 0 {
		add(IsShifted, t.ShiftedSec)
	}
	if t.gain < 0 {
		add(IsInverted, 0)
	}
	if math.Abs(db) > placeDB && !t.tooBrief {
		add(HasOtherLevel, db)
	}
	if d := t.DurationSec - s.r.Mix.DurationSec; d > lengthSec {
		add(IsLonger, d)
	} else if -d > lengthSec {
		add(IsShorter, -d)
	}
}
