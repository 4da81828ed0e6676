package cli

import (
	"math"

	"toneplumb/match/report"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// measuredDocumentJSON is what measure --json prints. Names stay as they are; what does
// not apply is null.
type measuredDocumentJSON struct {
	Version    int                     `json:"version"`
	Recordings []measuredRecordingJSON `json:"recordings"`
}

type measuredRecordingJSON struct {
	File           string           `json:"file"`
	RateHz         int              `json:"rate_hz"`
	Channels       int              `json:"channels"`
	Samples        string           `json:"samples"`
	DurationS      report.Number    `json:"duration_s"`
	PartS          [2]report.Number `json:"part_s"`
	LoudnessLUFS   report.Number    `json:"loudness_lufs"`
	LoudnessRange  report.Number    `json:"loudness_range_lu"`
	ShortTermMax   report.Number    `json:"short_term_max_lufs"`
	MomentaryMax   report.Number    `json:"momentary_max_lufs"`
	TruePeak       report.Number    `json:"true_peak_dbtp"`
	PeakToLoudness report.Number    `json:"peak_to_loudness_db"`
	CutoffHz       *report.Number   `json:"cutoff_hz"`
	Widths         []widthJSON      `json:"widths"`
	Bands          []bandJSON       `json:"bands"`
	Warnings       []string         `json:"warnings"`
}

type widthJSON struct {
	Zone          string         `json:"zone"`
	MidOverSideDB *report.Number `json:"mid_over_side_db"` // null where nothing, or one of them, is there
	Is            string         `json:"is"`               // "stereo", "mono", "opposite" or "silent"
}

type bandJSON struct {
	FreqHz  report.Number  `json:"freq_hz"`
	LevelDB *report.Number `json:"level_db"` // mean power of what passes the gate, full scale ±1 is 0; null for silence
}

func measuredDocument(recordings []*measure.Recording) measuredDocumentJSON {
	d := measuredDocumentJSON{Version: report.Version}
	for _, r := range recordings {
		e := measuredRecordingJSON{
			File: r.Path, RateHz: r.Format.RateHz, Channels: r.Format.Channels, Samples: r.Format.Encoding,
			DurationS: report.Number(r.DurationSec), PartS: [2]report.Number{0, report.Number(r.DurationSec)},
			LoudnessLUFS: report.Number(r.WholeLUFS), LoudnessRange: report.Number(r.RangeLU),
			ShortTermMax: report.Number(r.ShortTermMaxLUFS), MomentaryMax: report.Number(r.MomentaryMaxLUFS),
			TruePeak: report.Number(r.TruePeakDBTP), PeakToLoudness: report.Number(r.PeakToLoudnessDB()),
			Warnings: append([]string{}, r.Warnings...),
		}
		if r.CutoffHz > 0 {
			e.CutoffHz = report.Known(r.CutoffHz)
		}
		for _, w := range widthsOf(r) {
			e.Widths = append(e.Widths, w.json())
		}
		for b, p := range r.MeanPower(r.GateWeights()) {
			band := bandJSON{FreqHz: report.Number(spectrum.CentreHz(b))}
			if p > 0 {
				band.LevelDB = report.Known(spectrum.PowerToDB(p))
			}
			e.Bands = append(e.Bands, band)
		}
		d.Recordings = append(d.Recordings, e)
	}
	return d
}

func (w zoneWidth) json() widthJSON {
	d := widthJSON{Zone: w.name, Is: "stereo"}
	switch word := w.words(); {
	case math.IsNaN(w.midOverSide):
		d.Is = "silent"
	case word == "mono" || word == "opposite":
		d.Is = word
	default:
		d.MidOverSideDB = report.Known(w.midOverSide)
	}
	return d
}
