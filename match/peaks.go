package match

import "math"

// MostTruePeakDBTP is the largest true peak of a finished mix. Source: EBU R 128,
// maximum true peak level in programme production (from memory).
const MostTruePeakDBTP = -1

// TruePeak: the mix's true peak is above [MostTruePeakDBTP].
type TruePeak struct{ DBTP float64 }

func (TruePeak) Code() string       { return "true-peak" }
func (TruePeak) Severity() Severity { return Warning }

// TruePeakAfter: through the moves and the trim the true peak is above
// [MostTruePeakDBTP], and LowerDB less trim brings it below.
type TruePeakAfter struct {
	DBTP            float64
	TrimDB, LowerDB float64 // the lower trim, and by how much it is below equal loudness
}

func (TruePeakAfter) Code() string       { return "true-peak-after" }
func (TruePeakAfter) Severity() Severity { return Warning }

// Confirm notes what was measured of the mix through the moves, and warns of a peak that
// is too high: first, since what clips is wrong whatever its tone.
func (r *Result) Confirm(c Confirmed) {
	if r.Confirmed == nil && c.TruePeakDBTP > MostTruePeakDBTP {
		lower := math.Ceil((c.TruePeakDBTP-MostTruePeakDBTP)*10) / 10
		r.Warnings = Findings{TruePeakAfter{c.TruePeakDBTP, r.Settings().TrimDB - lower, lower}}.With(r.Warnings...)
	}
	r.Confirmed = &c
}
