package report

import (
	"io"
	"math"

	"toneplumb/match"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// measuredDocumentJSON is what measure --json prints. Names never change. A value that does
// not apply is null.
type measuredDocumentJSON struct {
	Version    int                     `json:"version"`
	Recordings []measuredRecordingJSON `json:"recordings"`
}

type measuredRecordingJSON struct {
	File           string      `json:"file"`
	RateHz         int         `json:"rate_hz"`
	Channels       int         `json:"channels"`
	Samples        string      `json:"samples"`
	DurationS      Number      `json:"duration_s"`
	PartS          [2]Number   `json:"part_s"`
	LoudnessLUFS   Number      `json:"loudness_lufs"`
	LoudnessRange  Number      `json:"loudness_range_lu"`
	ShortTermMax   Number      `json:"short_term_max_lufs"`
	MomentaryMax   Number      `json:"momentary_max_lufs"`
	TruePeak       Number      `json:"true_peak_dbtp"`
	PeakToLoudness Number      `json:"peak_to_loudness_db"`
	CutoffHz       *Number     `json:"cutoff_hz"`
	Widths         []widthJSON `json:"widths"`
	LowsLost       *Number     `json:"lows_lost_in_mono_db"` // below 178 Hz; null if there is nothing, or all is lost
	Bands          []bandJSON  `json:"bands"`
	Warnings       []Warning   `json:"warnings"`
}

type widthJSON struct {
	Zone          string  `json:"zone"`
	MidOverSideDB *Number `json:"mid_over_side_db"` // null if mid, side or both are missing
	Is            string  `json:"is"`               // "stereo", "mono", "opposite" or "silent"
}

type bandJSON struct {
	FreqHz  Number `json:"freq_hz"`
	LevelDB Number `json:"level_db"` // mean power of what passes the gate, full scale ±1 is 0; null for silence
}

// MeasuredJSON writes the figures of recordings and their level in each band as one JSON
// document, version [FindingsVersion]. The error is w's.
func MeasuredJSON(w io.Writer, recordings []*measure.Recording) error {
	d := measuredDocumentJSON{Version: FindingsVersion}
	for _, r := range recordings {
		e := measuredRecordingJSON{
			File: r.Name, RateHz: r.Format.RateHz, Channels: r.Format.Channels, Samples: r.Format.Encoding,
			DurationS: Number(r.DurationSec), PartS: [2]Number{0, Number(r.DurationSec)},
			LoudnessLUFS: Number(r.WholeLUFS), LoudnessRange: Number(r.RangeLU),
			ShortTermMax: Number(r.ShortTermMaxLUFS), MomentaryMax: Number(r.MomentaryMaxLUFS),
			TruePeak: Number(r.TruePeakDBTP), PeakToLoudness: Number(r.PeakToLoudnessDB()),
			CutoffHz: KnownIf(r.CutoffHz > 0, r.CutoffHz), LowsLost: lowsLost(r), Widths: widthsJSON(r),
			Warnings: WarningsJSON(remarks(r)),
		}
		for b, p := range r.MeanPower(r.GateWeights()) {
			e.Bands = append(e.Bands, bandJSON{Number(spectrum.CentreHz(b)), Number(spectrum.PowerToDB(p))})
		}
		d.Recordings = append(d.Recordings, e)
	}
	return WriteJSON(w, d)
}

func lowsLost(r *measure.Recording) *Number {
	db := r.Stereo().MonoLossDB(match.Lows())
	return KnownIf(db <= monoDB, max(0, db))
}

func widthsJSON(r *measure.Recording) []widthJSON {
	var all []widthJSON
	for _, w := range widthsOf(r) {
		d := widthJSON{Zone: w.name, Is: "stereo"}
		switch word := WidthWords(w.midOverSide); {
		case math.IsNaN(w.midOverSide):
			d.Is = "silent"
		case word == "mono" || word == "opposite":
			d.Is = word
		default:
			d.MidOverSideDB = Known(w.midOverSide)
		}
		all = append(all, d)
	}
	return all
}
