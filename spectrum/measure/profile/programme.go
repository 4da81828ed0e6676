package profile

import (
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
)

// jsonProgramme is a [measure.Programme] in a profile.
type jsonProgramme struct {
	LoudnessLUFS     float64 `json:"loudness_lufs"`
	RangeLU          float64 `json:"loudness_range_lu"`
	MomentaryMaxLUFS float64 `json:"momentary_max_lufs"`
	ShortTermMaxLUFS float64 `json:"short_term_max_lufs"`
	TruePeakDBTP     float64 `json:"true_peak_dbtp"`
}

// programmeOf returns the figures rounded to a thousandth, nil if they are unknown.
func programmeOf(w measure.Programme) *jsonProgramme {
	if !w.Valid() {
		return nil
	}
	const step = 1e-3
	return &jsonProgramme{round(w.WholeLUFS, step), round(w.RangeLU, step), round(w.MomentaryMaxLUFS, step), round(w.ShortTermMaxLUFS, step), round(w.TruePeakDBTP, step)}
}

func (e *jsonProgramme) programme() measure.Programme {
	if e == nil {
		return measure.Programme{}
	}
	return measure.Programme{
		WholeLUFS: e.LoudnessLUFS, RangeLU: e.RangeLU,
		MomentaryMaxLUFS: e.MomentaryMaxLUFS, ShortTermMaxLUFS: e.ShortTermMaxLUFS, TruePeakDBTP: e.TruePeakDBTP,
	}
}

// figure is a number of a profile and its permitted range.
type figure struct {
	name           string
	x, least, most float64
}

func (e *jsonProgramme) figures() []figure {
	if e == nil {
		return nil
	}
	const least, most = loudness.FloorDBTP, maxLoudnessLUFS
	return []figure{
		{"whole.loudness_lufs", e.LoudnessLUFS, least, most}, {"whole.loudness_range_lu", e.RangeLU, 0, most - least},
		{"whole.momentary_max_lufs", e.MomentaryMaxLUFS, least, most}, {"whole.short_term_max_lufs", e.ShortTermMaxLUFS, least, most},
		{"whole.true_peak_dbtp", e.TruePeakDBTP, least, most},
	}
}
