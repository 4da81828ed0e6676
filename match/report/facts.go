package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// Measured writes the figures of recordings, one a column, numbered, with their names above. The
// error is w's.
func Measured(w io.Writer, recordings []*measure.Recording) error {
	t := &TextReport{}
	var warnings []string
	var numbered []named
	for i, r := range recordings {
		number := fmt.Sprint(i + 1)
		numbered = append(numbered, named{r, number})
		t.File(number, r.Name, fmt.Sprintf("%s  %s", audio.Clock(r.DurationSec), FormatWords(r.Format)))
		for _, text := range words.Findings(remarks(r)) {
			warnings = append(warnings, number+": "+text)
		}
	}
	t.WriteString("\n")
	const perTable, width = 6, 9
	factsTables(t, numbered, perTable, width, len(recordings) > 1)
	t.Warnings(warnings)
	return t.WriteOut(w)
}

func remarks(r *measure.Recording) finding.List {
	var all finding.List
	for _, remark := range r.Warnings {
		all = append(all, match.FileRemark{Remark: remark})
	}
	return all
}

// factsTables writes recordings in columns width cells wide, perTable of them side by side,
// if headed with what they are above.
func factsTables(t *TextReport, all []named, perTable, width int, headed bool) {
	row := func(label string, cells []string) {
		line := fmt.Sprintf("%-24s", label)
		for _, cell := range cells {
			line += fmt.Sprintf("%*s", width, cell)
		}
		t.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	for from := 0; from < len(all); from += perTable {
		if from > 0 {
			t.WriteString("\n")
		}
		some := all[from:min(from+perTable, len(all))]
		if headed {
			row("", roles(some))
		}
		for _, r := range factRows(some) {
			row(r[0], r[1:])
		}
		t.WriteString("mid above side, dB\n")
		for _, r := range widthRows(some) {
			row("  "+r[0], r[1:])
		}
	}
}

// factRows returns a row for each figure: its name, then its value in each recording.
func factRows(recordings []named) [][]string {
	var rows [][]string
	for _, f := range []struct {
		label    string
		measured bool // unknown to old profiles
		of       func(r named) string
	}{
		{"loudness, LUFS", true, func(r named) string { return Level(r.WholeLUFS, 1) }},
		{"loudness range, LU", true, func(r named) string { return Level(r.RangeLU, 1) }},
		{"max short-term, LUFS", true, func(r named) string { return Level(r.ShortTermMaxLUFS, 1) }},
		{"max momentary, LUFS", true, func(r named) string { return Level(r.MomentaryMaxLUFS, 1) }},
		{"true peak, dBTP", true, func(r named) string { return words.FormatGain(r.TruePeakDBTP) }}, // with + over full scale, as everywhere
		{"peak to loudness, dB", true, func(r named) string { return Level(r.PeakToLoudnessDB(), 1) }},
		{"low-pass", false, func(r named) string {
			if r.CutoffHz == 0 {
				return "none"
			}
			return words.FormatHz(r.CutoffHz)
		}},
		{"lows lost in mono, dB", false, func(r named) string { return lossWords(r.Stereo().MonoLossDB(match.Lows())) }},
	} {
		row := []string{f.label}
		for _, r := range recordings {
			if f.measured && !r.Valid() {
				row = append(row, noFigure)
			} else {
				row = append(row, f.of(r))
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// widthRows returns a row for each zone, and one for all: its name, then by how many dB mid is
// above side in each recording.
func widthRows(recordings []named) [][]string {
	var rows [][]string
	for i, r := range recordings {
		for z, width := range widthsOf(r.Recording) {
			if i == 0 {
				rows = append(rows, []string{width.name})
			}
			rows[z] = append(rows[z], WidthWords(width.midOverSide))
		}
	}
	return rows
}

// WidthWords writes a mid-to-side ratio in dB, see [measure.Stereo]; "mono" or "opposite" beyond
// ±45 dB, "–" for NaN.
func WidthWords(midOverSideDB float64) string {
	switch db := midOverSideDB; {
	case math.IsNaN(db):
		return noFigure
	case db > measure.MonoDB:
		return "mono"
	case db < -measure.MonoDB:
		return "opposite"
	default:
		return Level(db, 1)
	}
}

// lossWords writes what is lost in dB when both channels are added, see
// [measure.Stereo.MonoLossDB]; "all" above 45 dB, "–" for NaN.
func lossWords(db float64) string {
	switch {
	case math.IsNaN(db):
		return noFigure
	case db > measure.MonoDB:
		return "all"
	}
	return Level(max(0, db), 1)
}

// zoneWidth is the mid-to-side ratio in a zone.
type zoneWidth struct {
	name        string
	midOverSide float64 // dB
}

// widthsOf returns the mid-to-side ratio in each zone, and over all of them.
func widthsOf(r *measure.Recording) []zoneWidth {
	stereo := r.Stereo()
	topHz := float64(r.Format.RateHz) / 2
	var all []zoneWidth
	for _, z := range match.Zones() {
		all = append(all, zoneWidth{z.Name, stereo.MidOverSideDB(z.LowHz, min(z.HighHz, topHz))})
	}
	return append(all, zoneWidth{"all", stereo.MidOverSideDB(0, topHz)})
}

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
	return KnownIf(db <= measure.MonoDB, max(0, db))
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
