package cli

import (
	"fmt"
	"io"
	"math"
	"strings"

	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// perTable recordings stand beside each other; what is more goes into another table.
const perTable = 6

// measuredText writes recordings one a column, numbered, with their names above.
func measuredText(w io.Writer, recordings []*measure.Recording) error {
	t := &report.Page{}
	var mind []string
	for i, r := range recordings {
		t.File(fmt.Sprint(i+1), r.Path, fmt.Sprintf("%s  %s", audio.Clock(r.DurationSec), formatWords(r.Format)))
		for _, warning := range r.Warnings {
			mind = append(mind, fmt.Sprintf("%d: %s", i+1, warning))
		}
	}
	for from := 0; from < len(recordings); from += perTable {
		t.WriteString("\n")
		measuredTable(t, from, recordings[from:min(from+perTable, len(recordings))])
	}
	t.Mind(mind)
	return t.WriteOut(w)
}

// measuredTable writes one table, its report.Columns numbered after first.
func measuredTable(t *report.Page, first int, recordings []*measure.Recording) {
	row := func(label string, cell func(i int, r *measure.Recording) string) {
		line := fmt.Sprintf("%-24s", label)
		for i, r := range recordings {
			line += fmt.Sprintf("%9s", cell(i, r))
		}
		t.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	if len(recordings) > 1 || first > 0 {
		row("", func(i int, _ *measure.Recording) string { return fmt.Sprint(first + i + 1) })
	}
	for _, f := range []struct {
		label string
		of    func(r *measure.Recording) string
	}{
		{"loudness, LUFS", func(r *measure.Recording) string { return report.Level(r.WholeLUFS, 1) }},
		{"loudness range, LU", func(r *measure.Recording) string { return report.Level(r.RangeLU, 1) }},
		{"loudest 3 s, LUFS", func(r *measure.Recording) string { return report.Level(r.ShortTermMaxLUFS, 1) }},
		{"loudest 0.4 s, LUFS", func(r *measure.Recording) string { return report.Level(r.MomentaryMaxLUFS, 1) }},
		{"true peak, dBTP", func(r *measure.Recording) string { return report.Level(r.TruePeakDBTP, 1) }},
		{"peak to loudness, dB", func(r *measure.Recording) string { return report.Level(r.PeakToLoudnessDB(), 1) }},
		{"low-pass", func(r *measure.Recording) string {
			if r.CutoffHz == 0 {
				return "none"
			}
			return match.Hertz(r.CutoffHz)
		}},
	} {
		row(f.label, func(_ int, r *measure.Recording) string { return f.of(r) })
	}
	t.WriteString("mid above side, dB\n")
	widths := make([][]zoneWidth, len(recordings))
	for i, r := range recordings {
		widths[i] = widthsOf(r)
	}
	for z := range widths[0] {
		row("  "+widths[0][z].name, func(i int, _ *measure.Recording) string { return widths[i][z].words() })
	}
}

// zoneWidth is by how many dB mid stands above side in a zone: large is narrow, 0 is
// as wide as two unlike channels, below 0 is out of phase.
type zoneWidth struct {
	name        string
	midOverSide float64 // dB; ±Inf where one of them is silent, NaN where both are
}

// monoDB above side mid is all there is. Our choice: less side is not heard, and equal
// channels come out of the table 51 dB apart and more (white noise, in the sub).
const monoDB = 45

func (w zoneWidth) words() string {
	switch db := w.midOverSide; {
	case math.IsNaN(db):
		return "–"
	case db > monoDB:
		return "mono"
	case db < -monoDB:
		return "opposite"
	default:
		return report.Level(db, 1)
	}
}

// widthsOf returns the width in each zone and of all, over what passes the gate: mid
// is half the sum of the channels and side half their difference, so of the powers
// P = P_L + P_R and C = Re⟨L·R*⟩ they have (P + 2C)/4 and (P − 2C)/4.
func widthsOf(r *measure.Recording) []zoneWidth {
	gate := r.GateWeights()
	power, cross := r.MeanPower(gate), meanCross(r, gate)
	width := func(name string, lowHz, highHz float64) zoneWidth {
		p, c := 0.0, 0.0
		for b := range power {
			if hz := spectrum.CentreHz(b); hz >= lowHz && hz <= min(highHz, float64(r.Format.RateHz)/2) {
				p += power[b]
				c += cross[b]
			}
		}
		db := math.NaN()
		if p > 0 {
			db = spectrum.PowerToDB(max(p+2*c, 0) / max(p-2*c, 0))
		}
		return zoneWidth{name, db}
	}
	var all []zoneWidth
	for _, z := range match.Zones() {
		all = append(all, width(z.Name, z.LowHz, z.HighHz))
	}
	return append(all, width("all", 0, math.Inf(1)))
}

// meanCross is Recording.MeanPower for Cross.
func meanCross(r *measure.Recording, weights []float64) []float64 {
	mean, total := make([]float64, spectrum.BandCount), 0.0
	for s, w := range weights {
		total += w
		for b := range mean {
			mean[b] += w * float64(r.Cross[s*spectrum.BandCount+b])
		}
	}
	for b := range mean {
		mean[b] /= max(total, math.SmallestNonzeroFloat64)
	}
	return mean
}
