package match

import (
	"fmt"
	"math"
	"slices"
)

// MostTruePeakDBTP is the largest true peak of a finished mix. Source: EBU R 128,
// maximum true peak level in programme production (from memory).
const MostTruePeakDBTP = -1

// Confirm notes what was measured of the mix through the moves, and warns of a peak that
// is too high: first, since what clips is wrong whatever its tone.
func (r *Result) Confirm(c Confirmed) {
	if r.Confirmed == nil && c.TruePeakDBTP > MostTruePeakDBTP {
		over := c.TruePeakDBTP - MostTruePeakDBTP
		r.Warnings = slices.Insert(slices.Clone(r.Warnings), 0, fmt.Sprintf(
			"through the moves and the trim the true peak is %s dBTP, above %s: a converter or a lossy encoder may clip it. Lower the equaliser's output by %.1f dB, or bounce to floating point and lower that",
			Gain(c.TruePeakDBTP), Gain(MostTruePeakDBTP), math.Ceil(over*10)/10))
	}
	r.Confirmed = &c
}
