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

// perTable recordings stand beside each other; what is more goes into another table.
const perTable, columnWidth = 6, 9

// Measured writes the facts of recordings, one a column, numbered, with their names above.
func Measured(w io.Writer, recordings []*measure.Recording) error {
	t := &TextReport{}
	var mind []string
	for i, r := range recordings {
		t.File(fmt.Sprint(i+1), r.Name, fmt.Sprintf("%s  %s", audio.Clock(r.DurationSec), FormatWords(r.Format)))
		for _, text := range words.Findings(remarks(r)) {
			mind = append(mind, fmt.Sprintf("%d: %s", i+1, text))
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
	t.Warnings(mind)
	return t.WriteOut(w)
}

// remarks are the findings about a recording's file.
func remarks(r *measure.Recording) finding.List {
	var all finding.List
	for _, text := range r.Warnings {
		all = append(all, match.FileRemark{Text: text})
	}
	return all
}

// factsTable writes recordings one a column so many cells wide, under headings if there
// are any.
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

// factRows are the figures of recordings, one a column after the figure's name.
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
			return words.FormatGain(r.TruePeakDBTP) // over full scale it has a +, as everywhere
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

// widthRows are by how much mid stands above side in each zone, one recording a column after
// the zone's name.
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

// monoDB above side mid is all there is. Our choice: less side is not heard, and equal
// channels come out of the table 51 dB apart and more (white noise, in the sub).
const monoDB = 45

// WidthWords writes by how much mid stands above side, see measure.Stereo.
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

// LossWords writes what is lost when both channels are added up, see
// measure.Stereo.MonoLossDB.
func LossWords(db float64) string {
	switch {
	case math.IsNaN(db):
		return "–"
	case db > monoDB:
		return "all"
	}
	return Level(max(0, db), 1)
}

// zoneWidth is the width in a zone.
type zoneWidth struct {
	name        string
	midOverSide float64 // dB
}

// widthsOf returns the width in each zone and of all.
func widthsOf(r *measure.Recording) []zoneWidth {
	stereo := r.Stereo()
	topHz := float64(r.Format.RateHz) / 2
	var all []zoneWidth
	for _, z := range match.Zones() {
		all = append(all, zoneWidth{z.Name, stereo.MidOverSideDB(z.LowHz, min(z.HighHz, topHz))})
	}
	return append(all, zoneWidth{"all", stereo.MidOverSideDB(0, topHz)})
}
