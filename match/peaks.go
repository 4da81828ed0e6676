package match

import (
	"math"

	"toneplumb/spectrum/finding"
)

// MostTruePeakDBTP is the largest true peak of a finished mix. Source: EBU R 128,
// maximum true peak level in programme production (from memory).
const MostTruePeakDBTP = -1

// TruePeak: the mix's true peak is above [MostTruePeakDBTP].
type TruePeak struct{ DBTP float64 }

func (TruePeak) Code() string               { return "true-peak" }
func (TruePeak) Severity() finding.Severity { return finding.Warning }

// TrimLowered: at equal loudness the true peak through the moves would be above
// [MostTruePeakDBTP], so that the trim is lower.
type TrimLowered struct {
	DBTP    float64 // at equal loudness
	LowerDB float64 // the trim, than equal loudness needs
}

func (TrimLowered) Code() string               { return "trim-lowered" }
func (TrimLowered) Severity() finding.Severity { return finding.Warning }

// Confirm notes what was measured of the mix through the moves and the trim. A peak above
// [MostTruePeakDBTP] lowers the trim, in tenths of a dB, and what was measured with it. A second call does
// nothing.
func (r *Result) Confirm(c Confirmed) {
	if r.Confirmed != nil { // the settings that were measured are not these any more
		return
	}
	if over := c.TruePeakDBTP - MostTruePeakDBTP; over > 0 {
		r.TrimLoweredDB = math.Ceil(over*10) / 10
		r.Warnings = finding.List{TrimLowered{c.TruePeakDBTP, r.TrimLoweredDB}}.With(r.Warnings...)
		r.TrimDB = r.Settings().TrimDB - r.TrimLoweredDB
		c.TruePeakDBTP -= r.TrimLoweredDB
		c.LoudnessAfterLUFS -= r.TrimLoweredDB
	}
	r.Confirmed = &c
}
