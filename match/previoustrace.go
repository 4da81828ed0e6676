package match

import (
	"math"

	"toneplumb/match/document"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

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
	if was.RangeHz != c.Options.RangeHz || len(was.Moves) != len(e.Settings.Moves) || len(was.References) != len(c.References) || !samePart(c.Mix, was.Mix, sameLengthSec) {
		return math.NaN()
	}
	for i, r := range c.References {
		if !samePart(r, &was.References[i], documentStep) || !near(r.LoudnessLUFS, was.References[i].LoudnessLUFS, documentStep) {
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

// samePart reports whether the part of a recording that is used begins and ends where it did.
func samePart(r *measure.Recording, was *document.OriginRecording, withinSec float64) bool {
	part := [2]float64{0, r.DurationSec}
	if n := len(r.Counted); n > 0 {
		part = [2]float64{r.Counted[0][0], r.Counted[n-1][1]}
	}
	return near(part[0], was.PartSec[0], withinSec) && near(part[1], was.PartSec[1], withinSec)
}

func near(a, b, within float64) bool { return math.Abs(a-b) <= within }
