package tracks

import (
	"math"
	"slices"

	"toneplumb/spectrum"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure/multitrack"
)

// FindingKind says what a [Finding] is about.
type FindingKind uint8

// The kinds. Unless said, a finding has no amount.
const (
	DecoderSays     FindingKind = iota // Text
	IsSilent                           // nothing louder than −70 LUFS
	IsDuplicate                        // of Other
	IsAbsent                           // its sound is not in the mix
	StartsElsewhere                    // seconds that it runs behind the mix; it is not counted
	IsTheMix                           // the whole mix, not a track of it
	IsBelowGate                        // it sounds only where the mix is too soft to count
	IsTooBrief                         // to be found in the mix; dB, as the others stand
	IsDelayed                          // seconds that it runs behind the mix
	IsShifted                          // seconds that it ran late before it was shifted
	IsInverted
	HasOtherLevel  // dB louder in the mix than it was given
	IsLonger       // seconds after the mix's end
	IsShorter      // seconds before it
	NotAmongTracks // share of the mix's loudness that no track holds, mostly around FreqHz
	LevelMoves     // dB by which the mix's level moves against the tracks' sum
)

// Finding is what makes the answers doubtful: of some tracks, or of the mix where there
// are none.
type Finding struct {
	Kind    FindingKind
	Tracks  []int
	Amounts []float64 // of each track, or one of the mix; see the kinds
	Other   int       // a track
	FreqHz  float64
	Text    string
}

// kindCodes are the kinds in JSON; they never change.
var kindCodes = [...]string{"file", "silent", "duplicate", "absent", "starts-elsewhere", "is-the-mix", "below-gate", "too-brief",
	"delayed", "shifted", "inverted", "other-level", "longer", "shorter", "not-among-tracks", "level-moves"}

// Code names the kind in JSON.
func (f *Finding) Code() string { return kindCodes[f.Kind] }

// Severity is how much the finding weighs: what leaves a track out, or the answers in doubt,
// more than what is allowed for.
func (f *Finding) Severity() finding.Severity {
	switch f.Kind {
	case StartsElsewhere, IsAbsent, IsTheMix, NotAmongTracks, LevelMoves:
		return finding.Warning
	case IsShifted, IsInverted, IsLonger, IsShorter:
		return finding.Info
	}
	return finding.Caution
}

// byWeight sorts findings, the heaviest first.
func byWeight(all []Finding) []Finding {
	slices.SortStableFunc(all, func(a, b Finding) int { return int(b.Severity()) - int(a.Severity()) })
	return all
}

// lengthSec is the difference in length that is worth telling. Our choice: a tail of
// reverberation that one bounce has and the other has not is shorter.
const lengthSec = 2

// findings gathers what is said, in the order in which it first comes up: forty tracks
// bounced with one delay are one finding.
type findings []Finding

func (all *findings) add(f Finding) {
	for i := range *all {
		have := &(*all)[i]
		if have.Kind == f.Kind && have.Other == f.Other && have.Text == f.Text && have.up() == f.up() && len(f.Tracks) > 0 {
			have.Tracks, have.Amounts = append(have.Tracks, f.Tracks...), append(have.Amounts, f.Amounts...)
			return
		}
	}
	*all = append(*all, f)
}

// up reports whether a finding's amounts are above 0: tracks that run late and those that
// run early are two findings.
func (f *Finding) up() bool { return len(f.Amounts) > 0 && f.Amounts[0] > 0 }

// findings says what makes the answers doubtful.
func (s *session) findings() []Finding {
	var all findings
	for i := range s.tracks {
		s.trackFindings(&all, i)
	}
	if len(s.heard()) == 0 {
		return byWeight(all)
	}
	if a := s.additive(); a.restShare > tellRestShare {
		all.add(Finding{Kind: NotAmongTracks, Amounts: []float64{a.restShare}, FreqHz: a.restHz})
	}
	if a := s.additive(); a.movesDB > firmMovesDB {
		all.add(Finding{Kind: LevelMoves, Amounts: []float64{a.movesDB}})
	}
	return byWeight(all)
}

// trackFindings adds what makes them doubtful about one track; of one that is not heard, why.
func (s *session) trackFindings(all *findings, i int) {
	t := s.tracks[i]
	add := func(kind FindingKind, amount float64) {
		all.add(Finding{Kind: kind, Tracks: []int{i}, Amounts: []float64{amount}})
	}
	for _, w := range t.Warnings {
		all.add(Finding{Kind: DecoderSays, Tracks: []int{i}, Amounts: []float64{0}, Text: w})
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
	if sameSound(t.Track, &multitrack.Track{RowPower: s.RowMix}) {
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
