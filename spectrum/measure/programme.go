package measure

import (
	"toneplumb/spectrum/loudness"
)

// Programme holds figures of a whole recording, whereas Recording.LoudnessLUFS is that of
// the counted passages. [Recording.Part] and [Recording.Through] do not change it. In JSON it
// is as in a profile.
type Programme struct {
	WholeLUFS        float64 `json:"loudness_lufs"`            // integrated loudness of the front pair; 0 if the figures are unknown
	RangeLU          float64 `json:"loudness_range_lu"`        // loudness range, EBU Tech 3342
	MomentaryMaxLUFS float64 `json:"momentary_max_lufs"`       // loudest 400 ms
	ShortTermMaxLUFS float64 `json:"short_term_max_lufs"`      // loudest 3 s
	TruePeakDBTP     float64 `json:"true_peak_dbtp"`           // of all channels; at least loudness.FloorDBTP
	ClippedPlaces    int     `json:"clipped_places,omitempty"` // of all channels: tenths of a second with samples clipped
}

// Valid reports whether the figures are known.
func (w Programme) Valid() bool { return w.WholeLUFS != 0 }

// PeakToLoudnessDB returns the true peak minus the integrated loudness.
func (w Programme) PeakToLoudnessDB() float64 { return w.TruePeakDBTP - w.WholeLUFS }

// FrontPair returns the channels of a block whose spectrum and loudness are measured: the
// first two, or the only one.
//
// Our choice: one loudness everywhere, that of the channels that are compared. BS.1770-4
// would add centre and surrounds, which no curve here shows. Peaks are those of all
// channels, since each can clip.
func FrontPair(block [][]float64) [][]float64 { return block[:min(2, len(block))] }

// programmeOf returns the figures, given the steps of the front pair and the true peak.
// Loudness is at least loudness.FloorDBTP, since JSON cannot hold −Inf.
func programmeOf(steps []float64, truePeakDBTP float64) Programme {
	atLeast := func(lufs float64) float64 { return max(loudness.FloorDBTP, lufs) }
	return Programme{
		WholeLUFS:        atLeast(loudness.Integrated(steps)),
		RangeLU:          loudness.Range(steps),
		MomentaryMaxLUFS: atLeast(loudness.MomentaryMax(steps)),
		ShortTermMaxLUFS: atLeast(loudness.ShortTermMax(steps)),
		TruePeakDBTP:     truePeakDBTP,
	}
}
