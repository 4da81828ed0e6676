package match

import (
	"fmt"
	"math"
	"slices"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// PreviousRound holds the settings of an earlier round, through which a mix was bounced. Its
// methods accept a nil receiver unless they say otherwise: there was no earlier round.
type PreviousRound struct {
	Path     string // of the settings, for errors
	Name     string // of the settings, as it is written
	Settings *document.Settings
}

// mostTakenDB is the most that the earlier moves may have cut from a band. Our choice:
// several full moves on one frequency cut less, and below that there may be more noise
// than music.
const mostTakenDB = 30

// Remove returns the mix as it was before the earlier moves, which ran at its sample rate; the
// mix itself if e is nil. It returns an [*audio.Error] if the settings do not fit the mix, cut
// more than 30 dB somewhere, or leave silence.
func (e *PreviousRound) Remove(mix *measure.Recording) (*measure.Recording, error) {
	if e == nil {
		return mix, nil
	}
	const give = "give the settings that the equaliser had when this mix was bounced"
	s := e.at(float64(mix.Format.RateHz))
	for _, f := range s.Moves {
		if err := f.Check(s.RateHz); err != nil {
			return nil, &audio.Error{Kind: finding.DoesNotFit, Path: e.Path, Problem: fmt.Sprintf("does not fit %s: %s", audio.Quote(mix.Path), err), Hint: give}
		}
	}
	least, at := 1.0, 0.0
	for b, g := range s.PowerGain() {
		g /= spectrum.DBToPower(s.TrimDB)
		if hz := spectrum.CentreHz(b); hz < s.RateHz/2 && g < least {
			least, at = g, hz
		}
	}
	if spectrum.PowerToDB(least) < -mostTakenDB {
		return nil, &audio.Error{Kind: finding.DoesNotFit, Path: e.Path,
			Problem: fmt.Sprintf("takes more than %d dB away around %.0f Hz: what is gone cannot be judged", mostTakenDB, at),
			Hint:    "bounce the mix again without the equaliser, and leave the earlier settings out"}
	}
	before := mix.Through(e.Back(s.RateHz))
	if l := before.LoudnessLUFS; math.IsInf(l, 0) || math.IsNaN(l) {
		return nil, &audio.Error{Kind: finding.DoesNotFit, Path: e.Path, Problem: fmt.Sprintf("leaves nothing of %s to be heard", audio.Quote(mix.Path)), Hint: give}
	}
	return before, nil
}

// at returns the settings of an equaliser that ran at a sample rate.
func (e *PreviousRound) at(rateHz float64) *document.Settings {
	s := *e.Settings
	s.RateHz = rateHz
	return &s
}

// Back returns the power gain of each band that undoes the earlier moves and their trim, which ran at
// a sample rate at which they fit; nil if e is nil. What they cut by more than 30 dB is raised by 30.
func (e *PreviousRound) Back(rateHz float64) []float64 {
	if e == nil {
		return nil
	}
	s := e.at(rateHz)
	trim, back := spectrum.DBToPower(s.TrimDB), s.PowerGain()
	for b, g := range back {
		back[b] = 1 / (math.Max(g/trim, spectrum.DBToPower(-mostTakenDB)) * trim)
	}
	return back
}

// PreviousMoves says that the mix was bounced through the moves of an earlier round.
type PreviousMoves struct {
	Name       string  // of the settings
	DistanceDB float64 // of the mix as bounced, rms, ignoring level; NaN if there is no one distance
	Use        PreviousUse
	FittedDB   []float64 // effect of the earlier moves per band, like Result.FittedDB
}

// PreviousUse says what to do with the moves of an earlier round.
type PreviousUse uint8

const (
	Replaced  PreviousUse = iota // the moves here replace them
	Held                         // keep them: new ones bring too little
	TakenAway                    // the mix is judged without them
)

func (PreviousMoves) Code() string               { return "previous-moves" }
func (PreviousMoves) Severity() finding.Severity { return finding.Warning }

// Kept returns the result of the earlier moves if they hold beside those of r, r itself if not, or
// if e is nil.
func (e *PreviousRound) Kept(r *Result) *Result {
	if e == nil {
		return r
	}
	if with := r.Comparison.With(e.Settings.Moves, r.SolveOptions); e.hold(with, r) {
		return with
	}
	return r
}

// hold reports whether the earlier moves, whose result is with, are kept: they help, and new ones would
// not bring the mix nearer by as much as one more move must.
func (e *PreviousRound) hold(with, r *Result) bool {
	return len(e.Settings.Moves) > 0 && (r.Outlook == Advised || r.Outlook == NoneHelps) &&
		with.DistanceAfterDB < with.DistanceBeforeDB && with.DistanceAfterDB-r.DistanceAfterDB < moveDB
}

// Beside returns the findings of a result after one that says whether its moves replace those of the
// earlier round; those alone if e is nil. Beside moves that are kept nothing is said of single moves:
// they are dialled already, and nothing is to be changed.
func (e *PreviousRound) Beside(r *Result) finding.List {
	if e == nil {
		return r.Warnings
	}
	with := r.Comparison.With(e.Settings.Moves, r.SolveOptions)
	found := PreviousMoves{Name: e.Name, DistanceDB: with.DistanceAfterDB, FittedDB: with.FittedDB}
	if !e.hold(with, r) {
		return finding.List{found}.With(r.Warnings...)
	}
	found.Use = Held
	return finding.List{found}.With(slices.DeleteFunc(slices.Clone(r.Warnings), isOfMoves)...)
}

// Without returns a finding that a verdict ignores the earlier moves; none if e is nil.
func (e *PreviousRound) Without(c *Comparison) finding.List {
	if e == nil {
		return nil
	}
	with := c.With(e.Settings.Moves, DefaultSolve())
	return finding.List{PreviousMoves{e.Name, with.DistanceAfterDB, TakenAway, with.FittedDB}}
}

// BeforeRanking returns a finding that references are ranked without the earlier moves; none if e is nil.
func (e *PreviousRound) BeforeRanking() finding.List {
	if e == nil {
		return nil
	}
	return finding.List{PreviousMoves{Name: e.Name, DistanceDB: math.NaN(), Use: TakenAway}}
}

// DistanceDB returns the distance of the mix as bounced through the earlier moves. e must
// not be nil.
func (e *PreviousRound) DistanceDB(c *Comparison, o SolveOptions) float64 {
	return c.With(e.Settings.Moves, o).DistanceAfterDB
}

// Inverse returns the settings that undo the earlier ones on sound, nil if e is nil. A shelf
// or bell of the cookbook with its gain inverted is its own inverse. A cut has no inverse; ok is
// false then.
func (e *PreviousRound) Inverse() (back *document.Settings, ok bool) {
	if e == nil {
		return nil, true
	}
	back = &document.Settings{RateHz: e.Settings.RateHz, TrimDB: -e.Settings.TrimDB}
	for _, f := range e.Settings.Moves {
		if f.Shape.IsCut() {
			return nil, false
		}
		back.Moves = append(back.Moves, biquad.Filter{Shape: f.Shape, FreqHz: f.FreqHz, GainDB: -f.GainDB, Q: f.Q})
	}
	return back, true
}

// NoTrace doubts that the mix was bounced through the moves of an earlier round.
type NoTrace struct {
	Name string // of the settings
}

func (NoTrace) Code() string               { return "no-trace" }
func (NoTrace) Severity() finding.Severity { return finding.Warning }

const (
	// mostMissing is the share of the earlier moves that may be missing in the mix: half. Measured
	// on the demo's tracks, with one fader of five turned by 4 dB either way before the second
	// bounce: through the moves −0.37 to 0.31 were missing, without them 0.63 to 1.31; with no
	// fader turned 0.00 and 1.00.
	mostMissing = 0.5
	// leastTraceDB is what the earlier moves must do in all, as the root of the sum of squares.
	// Our choice: two steps of a gain dial; less is no more than a fader does.
	leastTraceDB = 2 * WorthNamingDB
	// documentStep is the last decimal of the document.
	documentStep = 1e-4
	// sameLengthSec is by how much two bounces of one song differ in length at most. Our choice.
	sameLengthSec = 1
)

// Doubt returns a finding if the mix shows no trace of the earlier moves; none if it does, if
// the settings do not say enough, or if e is nil. It shows none if it is the very recording
// that the moves were found on. Beside the same references, it shows none if its tone where
// the moves work is still as it was. c is the comparison of what [PreviousRound.Remove] returned.
func (e *PreviousRound) Doubt(c *Comparison) finding.List {
	if e == nil || e.Settings.Origin == nil || len(e.Settings.Moves) == 0 {
		return nil
	}
	if missing := e.missing(c); isUnmoved(c.Mix, e.Settings.Origin.Mix) || missing > mostMissing {
		return finding.List{NoTrace{e.Name}}
	}
	return nil
}

// isUnmoved reports whether a mix is the recording that the moves were found on. Removing moves
// changes neither its true peak nor its loudness range, which are read from the sound.
func isUnmoved(mix *measure.Recording, was *document.OriginRecording) bool {
	return mix.Valid() && was.TruePeakDBTP != nil && near(mix.TruePeakDBTP, *was.TruePeakDBTP, documentStep) &&
		near(mix.RangeLU, was.RangeLU, documentStep) && near(mix.DurationSec, was.DurationSec, documentStep)
}

// missing returns the share of the earlier moves that is not in the mix's tone: 0 if it was
// bounced through them, 1 if not, NaN if that cannot be told. If the mix was bounced through
// them, then without them it is as far off as the settings say; if not, removing them took it
// farther off by what they do.
func (e *PreviousRound) missing(c *Comparison) float64 {
	was := e.Settings.Origin
	if was.RangeHz != c.Options.RangeHz || len(was.Moves) != len(e.Settings.Moves) || len(was.References) != len(c.References) || !samePart(c.Used(0), was.Mix) {
		return math.NaN()
	}
	for i, r := range c.References {
		if !samePart(c.Used(i+1), &was.References[i]) || !near(r.LoudnessLUFS, was.References[i].LoudnessLUFS, documentStep) {
			return math.NaN()
		}
	}
	does := c.smooth(c.response(e.Settings.Moves))
	sum, squares := 0.0, 0.0
	for i, f := range e.Settings.Moves {
		if was.Moves[i].Reason != Off.Code() {
			continue
		}
		low, high := reach(f)
		move, _ := c.judged.Mean(does, low, high)
		off, _ := c.judged.Mean(c.DifferenceDB, low, high)
		sum += move * (off - was.Moves[i].ReasonDB)
		squares += move * move
	}
	if squares < leastTraceDB*leastTraceDB {
		return math.NaN()
	}
	return sum / squares
}

// samePart reports whether the part of a recording that is compared begins and ends where it did, but
// for what a bounce with another start or end moves it by.
func samePart(used measure.Passages, was *document.OriginRecording) bool {
	return near(used[0][0], was.PartSec[0], sameLengthSec) && near(used[len(used)-1][1], was.PartSec[1], sameLengthSec)
}

func near(a, b, within float64) bool { return math.Abs(a-b) <= within }
