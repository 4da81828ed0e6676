package match

import (
	"math"

	"toneplumb/spectrum/finding"
)

// MostTruePeakDBTP is the highest true peak allowed in a finished mix. Source: EBU R 128,
// maximum true peak level in programme production (from memory).
const MostTruePeakDBTP = -1

// TruePeak says that the mix's true peak is above [MostTruePeakDBTP].
type TruePeak struct{ DBTP float64 }

func (TruePeak) Code() string               { return "true-peak" }
func (TruePeak) Severity() finding.Severity { return finding.Warning }

// TrimLowered says that the trim is below equal loudness, since the true peak through the moves
// would be above [MostTruePeakDBTP].
type TrimLowered struct {
	DBTP    float64 // at equal loudness
	LowerDB float64 // by how much the trim is below equal loudness
}

func (TrimLowered) Code() string               { return "trim-lowered" }
func (TrimLowered) Severity() finding.Severity { return finding.Warning }

// Confirm records what was measured of the mix through the moves and the trim. If the true peak
// is above [MostTruePeakDBTP], it lowers the trim by a multiple of 0.1 dB, and the
// measured values with it. A second call does nothing.
func (r *Result) Confirm(c Confirmed) {
	if r.Confirmed != nil { // c was measured with other settings than r has by now
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
