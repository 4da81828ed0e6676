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
	"toneplumb/biquad/fit"
	"toneplumb/match"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// columns is the width of a terminal that text must fit.
const columns = 80

// Text writes the result for a terminal of 80 columns.
func Text(w io.Writer, r *match.Result) error {
	var t strings.Builder
	if r.Mix != nil {
		recordingLine(&t, "mix", r.Mix)
	}
	for i, ref := range r.References {
		recordingLine(&t, label(i, r), ref)
	}
	if r.Mix != nil {
		t.WriteString("\n")
	}
	moves(&t, r)
	t.WriteString("\n")
	if r.Mix != nil {
		zones(&t, r)
		t.WriteString("\n")
	}
	paragraph(&t, "", distance(r))
	for _, s := range []string{judged(r), leftOut(r), copies(r)} {
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

// label is how a reference is called before its name.
func label(i int, r *match.Result) string {
	return strings.TrimPrefix(match.ReferenceName(i, len(r.References)), "the ")
}

// recordingLine prints a recording's name, cut in its middle, and its figures.
func recordingLine(t *strings.Builder, who string, r *measure.Recording) {
	figures := "  " + Figures(r)
	room := columns - 13 - len([]rune(figures))
	fmt.Fprintf(t, "%-11s  %s%s\n", who, pad(Shorten(Name(r.Path), room), room), figures)
}

// Name is a file's name without its folder; control characters are
// replaced, so that a name cannot steer a terminal.
func Name(path string) string {
	return strings.Map(func(c rune) rune {
		if c < ' ' || c >= 0x7f && c < 0xa0 {
			return '�'
		}
		return c
	}, filepath.Base(path))
}

// Figures is a recording's length, format and loudness in a few words.
func Figures(r *measure.Recording) string {
	channels := map[int]string{1: "mono", 2: "stereo"}[r.Format.Channels]
	if channels == "" {
		channels = fmt.Sprintf("%d channels", r.Format.Channels)
	}
	return fmt.Sprintf("%s  %g kHz %s  %s LUFS", audio.Clock(r.DurationSec), float64(r.Format.RateHz)/1000, channels, signless(r.LoudnessLUFS))
}

func moves(t *strings.Builder, r *match.Result) {
	if len(r.Moves) == 0 {
		paragraph(t, "", NoMoves(r))
		return
	}
	t.WriteString(" #  shape       frequency     gain     Q   width\n")
	for i, m := range r.Moves {
		fmt.Fprintf(t, "%2d  %-10s %10s %8s %5.2f   %s\n", i+1, m.Shape, match.Hertz(m.Dial.FreqHz), Gain(m.GainDB)+" dB", m.Q, Width(m))
		paragraph(t, "    ", m.Reason)
	}
	fmt.Fprintf(t, "    %-10s %10s %8s         %s\n", "trim", "", Gain(r.TrimDB)+" dB", trimReason(r))
}

// trimReason is why there is a trim.
func trimReason(r *match.Result) string {
	if r.Mix == nil {
		return "the level of the curve"
	}
	return "keeps the loudness of the mix"
}

// NoMoves is the sentence that stands where the moves would.
func NoMoves(r *match.Result) string {
	switch {
	case r.SolveOptions.MaxMoves == 0:
		return "No moves were asked for."
	case r.SolveOptions.TowardPercent == 0:
		return "No moves: 0 % of the way was asked for."
	}
	return "No moves: none stands out enough to be worth it."
}

// Width is the width of a move in the words of the equaliser's dial; where that is
// in Q or slope, the bandwidth of a bell and the steepness of a shelf.
func Width(m match.Move) string {
	text := ""
	switch m.Dial.Stated.Width {
	case fit.NoWidth:
		text = "fixed"
	case fit.DBPerOct:
		text = fmt.Sprintf("%.1f dB/oct", m.Dial.Width)
	case fit.Octaves:
		text = fmt.Sprintf("%.2f oct", m.Dial.Width)
	case fit.Octaves3DB:
		text = fmt.Sprintf("%.2f oct at −3 dB", m.Dial.Width)
	default:
		if m.Shape == biquad.Bell {
			text = fmt.Sprintf("%.2f oct", biquad.BandwidthFromQ(m.Q))
			break
		}
		slope := biquad.SlopeFromQ(m.Q, m.GainDB)
		text = fmt.Sprintf("slope %.2f, %.1f dB/oct", slope, biquad.SteepestDBPerOct(slope, m.GainDB))
	}
	if m.Dial.Stated.Freq == fit.Corner {
		text += ", at the corner"
	}
	return text
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
	t.WriteString("    zone        from       to         difference     moves\n")
	for _, z := range r.Zones {
		difference, moves := "not judged", ""
		if !math.IsNaN(z.DifferenceDB) {
			moves = Gain(z.FittedDB) + " dB"
			difference = OverUnder(z.DifferenceDB)
		}
		line := fmt.Sprintf("    %-10s %8s %8s   %16s  %8s", z.Name, match.Hertz(z.LowHz), match.Hertz(z.HighHz), difference, moves)
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
	reference := "the reference"
	switch {
	case r.Mix == nil:
		return fmt.Sprintf("The curve departs from a level by %.2f dB, with the moves by %.2f dB.", r.DistanceBeforeDB, r.DistanceAfterDB)
	case len(r.References) > 1:
		reference = "the mean of the references"
	}
	return fmt.Sprintf("Distance from %s: %.2f dB, with the moves %.2f dB. Two finished songs differ by 4 to 6 dB for musical reasons.",
		reference, r.DistanceBeforeDB, r.DistanceAfterDB)
}

// judged says what the comparison covers and how far it goes.
func judged(r *match.Result) string {
	low, high := r.JudgedHz()
	if r.Mix == nil {
		return fmt.Sprintf("Fitted from %s to %s for a rate of %g kHz.", match.Hertz(low), match.Hertz(high), r.RateHz/1000)
	}
	return fmt.Sprintf("Judged from %s to %s in 1/%.0f octaves; the moves go %.0f %% of the way.",
		match.Hertz(low), match.Hertz(high), 1/r.Options.SmoothOct, r.SolveOptions.TowardPercent)
}

// leftOut lists what is not judged although it is in range, with the reasons.
func leftOut(r *match.Result) string {
	var parts []string
	if r.Mix == nil {
		return ""
	}
	for _, s := range r.LeftOutSpans() {
		if low, high := r.Options.RangeHz[0], r.Options.RangeHz[1]; s.HighHz > low && s.LowHz < high {
			if s.LowHz < low || s.HighHz > high {
				s.LowHz, s.HighHz = max(s.LowHz, low), min(s.HighHz, high)
			}
			if s.HighHz > s.LowHz*1.03 { // a band or more
				parts = append(parts, fmt.Sprintf("%s to %s (%s)", match.Hertz(s.LowHz), match.Hertz(s.HighHz), s.Why))
			}
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return "Left out: " + strings.Join(parts, ", ") + "."
}

// copies says which references are the mix's own song.
func copies(r *match.Result) string {
	var which []string
	for i, same := range r.SameSong {
		switch {
		case same && len(r.SameSong) == 1:
			return "Both are the same song: the difference is processing, not arrangement."
		case same:
			which = append(which, label(i, r)+" is the mix's own song")
		}
	}
	if len(which) == 0 {
		return ""
	}
	text := strings.Join(which, ", ") + "."
	return strings.ToUpper(text[:1]) + text[1:]
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

// Shorten cuts the middle out of text that is longer than n runes.
func Shorten(text string, n int) string {
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
