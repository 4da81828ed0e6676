// Package report shows a match.Result: as text, as JSON and as a chart. It
// formats and decides nothing.
package report

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/spectrum/measure"
)

// columns is the width of a terminal that text must fit.
const columns = 80

// Text writes the result for a terminal of 80 columns.
func Text(w io.Writer, r *match.Result) error {
	var t strings.Builder
	recordingLine(&t, "mix", r.Mix)
	for _, ref := range r.References {
		recordingLine(&t, "reference", ref)
	}
	t.WriteString("\n")
	moves(&t, r)
	t.WriteString("\n")
	zones(&t, r)
	t.WriteString("\n")
	paragraph(&t, "", distance(r))
	for _, s := range []string{judged(r), copies(r)} {
		if s != "" {
			paragraph(&t, "", s)
		}
	}
	if len(r.Warnings) > 0 {
		t.WriteString("\nmind:\n")
		for _, warning := range r.Warnings {
			paragraph(&t, "- ", warning)
		}
	}
	_, err := io.WriteString(w, t.String())
	return err
}

// recordingLine prints a recording's name, cut in its middle, and its figures.
func recordingLine(t *strings.Builder, who string, r *measure.Recording) {
	figures := "  " + Figures(r)
	room := columns - 11 - len([]rune(figures))
	fmt.Fprintf(t, "%-9s  %s%s\n", who, pad(shorten(Name(r), room), room), figures)
}

// Name is a recording's file name without its folder; control characters are
// replaced, so that a name cannot steer a terminal.
func Name(r *measure.Recording) string {
	return strings.Map(func(c rune) rune {
		if c < ' ' || c >= 0x7f && c < 0xa0 {
			return '�'
		}
		return c
	}, filepath.Base(r.Path))
}

// Figures is a recording's length, format and loudness in a few words.
func Figures(r *measure.Recording) string {
	channels := map[int]string{1: "mono", 2: "stereo"}[r.Format.Channels]
	if channels == "" {
		channels = fmt.Sprintf("%d channels", r.Format.Channels)
	}
	return fmt.Sprintf("%s  %g kHz %s  %s LUFS", match.Clock(r.DurationSec), float64(r.Format.RateHz)/1000, channels, signless(r.LoudnessLUFS))
}

func moves(t *strings.Builder, r *match.Result) {
	if len(r.Moves) == 0 {
		paragraph(t, "", NoMoves(r))
		return
	}
	t.WriteString(" #  shape       frequency     gain     Q   width\n")
	for i, m := range r.Moves {
		fmt.Fprintf(t, "%2d  %-10s %10s %8s %5.2f   %s\n", i+1, m.Shape, match.Hertz(m.FreqHz), Gain(m.GainDB)+" dB", m.Q, Width(m.Filter))
		paragraph(t, "    ", m.Reason)
	}
	fmt.Fprintf(t, "    %-10s %10s %8s         keeps the loudness of the mix\n", "trim", "", Gain(r.TrimDB)+" dB")
}

// NoMoves is the sentence that stands where the moves would.
func NoMoves(r *match.Result) string {
	switch {
	case r.Options.MaxMoves == 0:
		return "No moves were asked for."
	case r.Options.TowardPercent == 0:
		return "No moves: nothing of the way was asked for."
	}
	return "No moves: no broad move brings the mix nearer."
}

// Width is the bandwidth of a bell or the slope of a shelf.
func Width(f biquad.Filter) string {
	if f.Shape == biquad.Bell {
		return fmt.Sprintf("%.2f oct", biquad.BandwidthFromQ(f.Q))
	}
	slope := biquad.SlopeFromQ(f.Q, f.GainDB)
	return fmt.Sprintf("slope %.2f, %.1f dB/oct", slope, biquad.SteepestDBPerOct(slope, f.GainDB))
}

// Gain writes decibels with a sign and one decimal.
func Gain(db float64) string {
	if math.Abs(db) < 0.05 {
		return "0.0"
	}
	return strings.Replace(fmt.Sprintf("%+.1f", db), "-", "−", 1)
}

// signless writes a level whose minus sign is no correction.
func signless(db float64) string {
	return strings.Replace(fmt.Sprintf("%.1f", db), "-", "−", 1)
}

func zones(t *strings.Builder, r *match.Result) {
	t.WriteString("    zone        from       to         difference      dial\n")
	for _, z := range r.Zones {
		difference, dial := "left out", ""
		if !math.IsNaN(z.DifferenceDB) {
			dial = Gain(z.FittedDB) + " dB"
			difference = OverUnder(z.DifferenceDB)
		}
		line := fmt.Sprintf("    %-10s %8s %8s   %16s  %8s", z.Name, match.Hertz(z.LowHz), match.Hertz(z.HighHz), difference, dial)
		t.WriteString(strings.TrimRight(line, " ") + "\n")
	}
}

// OverUnder writes a difference, reference less mix, as where the mix stands.
func OverUnder(db float64) string {
	switch {
	case math.Abs(db) < 0.05:
		return "level"
	case db > 0:
		return fmt.Sprintf("%.1f dB under", db)
	default:
		return fmt.Sprintf("%.1f dB over", -db)
	}
}

func distance(r *match.Result) string {
	return fmt.Sprintf("Distance from the reference: %.2f dB, with the moves %.2f dB. Two finished songs differ by 4 to 6 dB for musical reasons.",
		r.DistanceBeforeDB, r.DistanceAfterDB)
}

// judged says what the comparison covers and how far it goes.
func judged(r *match.Result) string {
	o := r.Comparison.Options
	return fmt.Sprintf("Judged from %s to %s in 1/%.0f octaves; the moves go %.0f %% of the way.",
		match.Hertz(o.RangeHz[0]), match.Hertz(o.RangeHz[1]), 1/o.SmoothOct, r.Options.TowardPercent)
}

// copies says which references are the mix's own song.
func copies(r *match.Result) string {
	for _, same := range r.SameSong {
		if same {
			return "Both are the same song: the difference is processing, not arrangement."
		}
	}
	return ""
}

// paragraph writes text wrapped to the columns, its first line after lead and the
// others under it.
func paragraph(t *strings.Builder, lead, text string) {
	indent := strings.Repeat(" ", len(lead))
	line := lead
	for i, word := range strings.Fields(text) {
		switch {
		case i == 0:
			line += word
		case len([]rune(line))+1+len([]rune(word)) > columns:
			t.WriteString(line + "\n")
			line = indent + word
		default:
			line += " " + word
		}
	}
	t.WriteString(line + "\n")
}

// shorten cuts the middle out of text that is longer than n runes.
func shorten(text string, n int) string {
	runes := []rune(text)
	if len(runes) <= n {
		return text
	}
	head := (n - 1) / 2
	return string(runes[:head]) + "…" + string(runes[len(runes)-(n-1-head):])
}

// pad fills text up to n runes.
func pad(text string, n int) string {
	return text + strings.Repeat(" ", max(0, n-len([]rune(text))))
}
