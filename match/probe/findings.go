package probe

import (
	"math"

	"toneplumb/biquad"
	"toneplumb/spectrum/finding"
)

// Finding is something to watch out for in the prints of a probe, or in a second bounce.
type Finding struct {
	Kind   FindingKind
	Print  int     // the print's number, 0 for all
	DB     float64 // the amount
	WantDB float64 // what was to be dialled
	Hz     float64 // where
	Places int
}

// FindingKind identifies a kind of finding in JSON; it never changes.
type FindingKind string

// The kinds, with the figures they have.
const (
	NotDialled    FindingKind = "not-dialled"     // Print
	OtherWay      FindingKind = "other-way"       // Print, DB, WantDB
	PrintInverted FindingKind = "print-inverted"  // Print
	PrintLevel    FindingKind = "print-level"     // Print, DB
	FlatNotFlat   FindingKind = "flat-not-flat"   // DB, Hz
	NoisyPrints   FindingKind = "noisy-prints"    // DB beside the probe
	BounceClipped FindingKind = "bounce-clipped"  // Places
	Balance       FindingKind = "balance"         // DB by which the right became louder
	SidesUnlike   FindingKind = "sides-unlike"    // DB, Hz
	NoFilter      FindingKind = "not-by-a-filter" // DB beside the sound
)

// FindingKinds are all kinds of findings.
var FindingKinds = []FindingKind{NotDialled, OtherWay, PrintInverted, PrintLevel, FlatNotFlat, NoisyPrints, BounceClipped, Balance, SidesUnlike, NoFilter}

// Code implements [finding.Finding].
func (f Finding) Code() string { return string(f.Kind) }

// Severity implements [finding.Finding]: what is allowed for is an info, what is to be bounced again a warning.
func (f Finding) Severity() finding.Severity {
	switch f.Kind {
	case PrintInverted, PrintLevel, FlatNotFlat:
		return finding.Info
	case Balance, SidesUnlike:
		return finding.Caution
	}
	return finding.Warning
}

// Cause is why a band of a second bounce is left out, "" if it is judged. It identifies the reason in JSON and never
// changes.
type Cause string

const (
	OutsideRecording Cause = "outside-recording"
	HardlyMusic      Cause = "hardly-music" // the first bounce is quiet there
	MuchElse         Cause = "much-else"    // what no filter makes hides the gain
)

// UnlikeDB is the largest deviation from the dials that is not reported, in dB. Our choice: half
// the step of the finest gain dials.
const UnlikeDB = 0.1

// Our choice: noise and what no filter makes are reported from 1 % of the amplitude, the same as distortionDB for the
// probe.
const noiseDB, otherDB = -40, -40

// Findings returns what to watch out for in the prints, the most severe first.
func (e *Equaliser) Findings() finding.List {
	var all finding.List
	noise := math.Inf(-1)
	for _, s := range e.Measured {
		noise = math.Max(noise, s.Response.NoiseDB)
		if s.Response.Inverted {
			all = append(all, Finding{Kind: PrintInverted, Print: s.Number})
		}
		switch {
		case s.NotDialled:
			all = append(all, Finding{Kind: NotDialled, Print: s.Number})
		case s.OtherWay:
			all = append(all, Finding{Kind: OtherWay, Print: s.Number, DB: s.Filter.GainDB, WantDB: s.GainDB})
		case !s.Flat && math.Abs(s.LevelDB) > UnlikeDB:
			all = append(all, Finding{Kind: PrintLevel, Print: s.Number, DB: s.LevelDB})
		case s.Flat && math.Abs(s.WorstDB) > UnlikeDB:
			all = append(all, Finding{Kind: FlatNotFlat, Print: s.Number, DB: s.WorstDB, Hz: s.WorstHz})
		}
	}
	if noise > noiseDB {
		all = append(all, Finding{Kind: NoisyPrints, DB: noise})
	}
	return all.With()
}

// Findings returns what to watch out for in the second bounce, the most severe first.
func (t *TransferFunction) Findings() finding.List {
	var all finding.List
	if t.Clipped > 0 {
		all = append(all, Finding{Kind: BounceClipped, Places: t.Clipped})
	}
	if math.Abs(t.BalanceDB) > UnlikeDB {
		all = append(all, Finding{Kind: Balance, DB: t.BalanceDB})
	}
	if math.Abs(t.SidesDB) > 2*UnlikeDB {
		all = append(all, Finding{Kind: SidesUnlike, DB: t.SidesDB, Hz: t.SidesHz})
	}
	if t.OtherDB > otherDB {
		all = append(all, Finding{Kind: NoFilter, DB: t.OtherDB})
	}
	return all.With()
}

// MoveGot is a move as asked for and as measured in the music. For a cut, Got is Asked: it is
// assumed to be right.
type MoveGot struct{ Asked, Got biquad.Filter }

// Dial is a dial of a move.
type Dial uint8

// The dials.
const (
	Gain Dial = iota
	Freq
	Width
)

// Off returns the dials that differ from what was asked for. Our choice: a tenth of a dB, a semitone and
// a tenth of Q are visible on a dial.
func (m MoveGot) Off() (off []Dial) {
	if math.Abs(m.Got.GainDB-m.Asked.GainDB) > UnlikeDB {
		off = append(off, Gain)
	}
	if math.Abs(math.Log2(m.Got.FreqHz/m.Asked.FreqHz)) > 1.0/12 {
		off = append(off, Freq)
	}
	if math.Abs(math.Log(m.Got.Q/m.Asked.Q)) > 0.1 {
		off = append(off, Width)
	}
	return off
}
