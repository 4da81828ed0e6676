package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// perTable is how many recordings fit into one table of columns columnWidth cells wide; further
// ones get another table.
const perTable, columnWidth = 6, 9

// Measured writes the figures of recordings, one a column, numbered, with their names above. The
// error is w's.
func Measured(w io.Writer, recordings []*measure.Recording) error {
	t := &TextReport{}
	var warnings []string
	for i, r := range recordings {
		t.File(fmt.Sprint(i+1), r.Name, fmt.Sprintf("%s  %s", audio.Clock(r.DurationSec), FormatWords(r.Format)))
		for _, text := range words.Findings(remarks(r)) {
			warnings = append(warnings, fmt.Sprintf("%d: %s", i+1, text))
		}
	}
	for from := 0; from < len(recordings); from += perTable {
		t.WriteString("\n")
		some := recordings[from:min(from+perTable, len(recordings))]
		var numbers []string
		for i := range some {
			if len(recordings) > 1 {
				numbers = append(numbers, fmt.Sprint(from+i+1))
			}
		}
		factsTable(t, numbers, some, columnWidth)
	}
	t.Warnings(warnings)
	return t.WriteOut(w)
}

// remarks returns the findings about a recording's file.
func remarks(r *measure.Recording) finding.List {
	var all finding.List
	for _, text := range r.Warnings {
		all = append(all, match.FileRemark{Text: text})
	}
	return all
}

// factsTable writes recordings in columns width cells wide, under headings unless these are nil.
func factsTable(t *TextReport, headings []string, recordings []*measure.Recording, width int) {
	row := func(label string, cells []string) {
		line := fmt.Sprintf("%-24s", label)
		for _, cell := range cells {
			line += fmt.Sprintf("%*s", width, cell)
		}
		t.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	if headings != nil {
		row("", headings)
	}
	for _, r := range factRows(recordings) {
		row(r[0], r[1:])
	}
	t.WriteString("mid above side, dB\n")
	for _, r := range widthRows(recordings) {
		row("  "+r[0], r[1:])
	}
}

// factRows returns a row for each figure: its name, then its value in each recording.
func factRows(recordings []*measure.Recording) [][]string {
	known := func(decimals int, of func(r *measure.Recording) float64) func(r *measure.Recording) string {
		return func(r *measure.Recording) string {
			if !r.Valid() { // an old profile
				return "–"
			}
			return Level(of(r), decimals)
		}
	}
	var rows [][]string
	for _, f := range []struct {
		label string
		of    func(r *measure.Recording) string
	}{
		{"loudness, LUFS", known(1, func(r *measure.Recording) float64 { return r.WholeLUFS })},
		{"loudness range, LU", known(1, func(r *measure.Recording) float64 { return r.RangeLU })},
		{"max short-term, LUFS", known(1, func(r *measure.Recording) float64 { return r.ShortTermMaxLUFS })},
		{"max momentary, LUFS", known(1, func(r *measure.Recording) float64 { return r.MomentaryMaxLUFS })},
		{"true peak, dBTP", func(r *measure.Recording) string {
			if !r.Valid() {
				return "–"
			}
			return words.FormatGain(r.TruePeakDBTP) // with + over full scale, as everywhere
		}},
		{"peak to loudness, dB", known(1, func(r *measure.Recording) float64 { return r.PeakToLoudnessDB() })},
		{"low-pass", func(r *measure.Recording) string {
			if r.CutoffHz == 0 {
				return "none"
			}
			return words.FormatHz(r.CutoffHz)
		}},
		{"lows lost in mono, dB", func(r *measure.Recording) string { return LossWords(r.Stereo().MonoLossDB(match.Lows())) }},
	} {
		row := []string{f.label}
		for _, r := range recordings {
			row = append(row, f.of(r))
		}
		rows = append(rows, row)
	}
	return rows
}

// widthRows returns a row for each zone, and one for all: its name, then by how many dB mid is
// above side in each recording.
func widthRows(recordings []*measure.Recording) [][]string {
	var rows [][]string
	for i, r := range recordings {
		for z, width := range widthsOf(r) {
			if i == 0 {
				rows = append(rows, []string{width.name})
			}
			rows[z] = append(rows[z], WidthWords(width.midOverSide))
		}
	}
	return rows
}

// monoDB is how far mid must be above side to be called mono. Our choice: less side is not heard,
// and equal channels measure 51 dB apart and more (white noise, in the sub).
const monoDB = 45

// WidthWords writes a mid-to-side ratio in dB, see [measure.Stereo]; "mono" or "opposite" beyond
// ±45 dB, "–" for NaN.
func WidthWords(midOverSideDB float64) string {
	switch db := midOverSideDB; {
	case math.IsNaN(db):
		return "–"
	case db > monoDB:
		return "mono"
	case db < -monoDB:
		return "opposite"
	default:
		return Level(db, 1)
	}
}

// LossWords writes what is lost in dB when both channels are added, see
// [measure.Stereo.MonoLossDB]; "all" above 45 dB, "–" for NaN.
func LossWords(db float64) string {
	switch {
	case math.IsNaN(db):
		return "–"
	case db > monoDB:
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
