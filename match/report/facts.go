package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
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
		for _, warning := range r.Warnings {
			mind = append(mind, fmt.Sprintf("%d: %s", i+1, warning))
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

// factsTable writes recordings one a column so many cells wide, under headings if there
// are any.
func factsTable(t *TextReport, headings []string, recordings []*measure.Recording, width int) {
	row := func(label string, cell func(i int, r *measure.Recording) string) {
		line := fmt.Sprintf("%-24s", label)
		for i, r := range recordings {
			line += fmt.Sprintf("%*s", width, cell(i, r))
		}
		t.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	if headings != nil {
		row("", func(i int, _ *measure.Recording) string { return headings[i] })
	}
	known := func(decimals int, of func(r *measure.Recording) float64) func(r *measure.Recording) string {
		return func(r *measure.Recording) string {
			if !r.Valid() { // an old profile
				return "–"
			}
			return Level(of(r), decimals)
		}
	}
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
	} {
		row(f.label, func(_ int, r *measure.Recording) string { return f.of(r) })
	}
	row("lows lost in mono, dB", func(_ int, r *measure.Recording) string { return LossWords(r.Stereo().MonoLossDB(match.Lows())) })
	t.WriteString("mid above side, dB\n")
	widths := make([][]zoneWidth, len(recordings))
	for i, r := range recordings {
		widths[i] = widthsOf(r)
	}
	for z := range widths[0] {
		row("  "+widths[0][z].name, func(i int, _ *measure.Recording) string { return WidthWords(widths[i][z].midOverSide) })
	}
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
