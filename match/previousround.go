package match

import (
	"fmt"
	"math"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// PreviousRound is what a mix was already sent through: the settings of an earlier round.
type PreviousRound struct {
	Path     string // of the settings, for errors
	Name     string // of the settings, in what is written
	Settings *document.Settings
}

// mostTakenDB is how much the earlier moves may have taken from a band. Our choice:
// several full moves on one spot take less, and below that there may be more noise
// than music.
const mostTakenDB = 30

// Remove returns the mix as it was before the earlier moves, which ran at its rate;
// the mix itself if e is nil. What is wrong with the settings is an *audio.Error.
func (e *PreviousRound) Remove(mix *measure.Recording) (*measure.Recording, error) {
	if e == nil {
		return mix, nil
	}
	const give = "give the settings that the equaliser had when this mix was bounced"
	s := *e.Settings
	s.RateHz = float64(mix.Format.RateHz)
	for _, f := range s.Moves {
		if err := f.Check(s.RateHz); err != nil {
			return nil, &audio.Error{Path: e.Path, Problem: fmt.Sprintf("does not fit %s: %s", audio.Quote(mix.Path), err), Hint: give}
		}
	}
	gain := s.PowerGain()
	back := make([]float64, len(gain))
	least, at := 1.0, 0.0
	for b, g := range gain {
		g /= spectrum.DBToPower(s.TrimDB)
		if hz := spectrum.CentreHz(b); hz < s.RateHz/2 && g < least {
			least, at = g, hz
		}
		back[b] = 1 / (math.Max(g, spectrum.DBToPower(-mostTakenDB)) * spectrum.DBToPower(s.TrimDB))
	}
	if spectrum.PowerToDB(least) < -mostTakenDB {
		return nil, &audio.Error{Path: e.Path,
			Problem: fmt.Sprintf("takes more than %d dB away around %.0f Hz: what is gone cannot be judged", mostTakenDB, at),
			Hint:    "bounce the mix again without the equaliser, and leave the earlier settings out"}
	}
	before := mix.Through(back)
	if l := before.LoudnessLUFS; math.IsInf(l, 0) || math.IsNaN(l) {
		return nil, &audio.Error{Path: e.Path, Problem: fmt.Sprintf("leaves nothing of %s to be heard", audio.Quote(mix.Path)), Hint: give}
	}
	return before, nil
}

// PreviousMoves: the mix was bounced through the moves of an earlier round, which the
// moves here replace.
type PreviousMoves struct {
	Name       string  // of the settings
	DistanceDB float64 // of the mix as it was bounced
	Use        PreviousUse
	FittedDB   []float64 // what they make, per band, as Result.FittedDB
}

// PreviousUse is what becomes of the moves of an earlier round.
type PreviousUse uint8

const (
	Replaced  PreviousUse = iota // by the moves here
	Held                         // the moves here would come no nearer
	TakenAway                    // the mix is judged without them
)

// holdDB: moves that come nearer by less replace none. Our choice: a tenth of a decibel in
// the distance is not heard.
const holdDB = 0.1

func (PreviousMoves) Code() string               { return "previous-moves" }
func (PreviousMoves) Severity() finding.Severity { return finding.Warning }

// Beside says whether the moves of a result replace those of the earlier round; nothing if e
// is nil.
func (e *PreviousRound) Beside(r *Result) finding.List {
	if e == nil {
		return nil
	}
	with := r.Comparison.With(e.Settings.Moves, r.SolveOptions)
	found := PreviousMoves{Name: e.Name, DistanceDB: with.DistanceAfterDB, FittedDB: with.FittedDB}
	if len(e.Settings.Moves) > 0 && found.DistanceDB-r.DistanceAfterDB < holdDB {
		found.Use = Held
	}
	return finding.List{found}
}

// Without says that a verdict leaves the earlier moves out; nothing if e is nil.
func (e *PreviousRound) Without(c *Comparison) finding.List {
	if e == nil {
		return nil
	}
	with := c.With(e.Settings.Moves, DefaultSolve())
	return finding.List{PreviousMoves{e.Name, with.DistanceAfterDB, TakenAway, with.FittedDB}}
}

// DistanceDB is the distance of the mix as it was bounced, through the earlier moves.
func (e *PreviousRound) DistanceDB(c *Comparison, o SolveOptions) float64 {
	return c.With(e.Settings.Moves, o).DistanceAfterDB
}

// Inverse returns the settings that take the earlier ones back from sound, nil where e is
// nil: with its gain turned over, a shelf or bell of the cookbook is its own inverse. A
// cut has none; not ok then.
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
