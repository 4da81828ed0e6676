// Package report writes results of package match: as text, JSON, CSV and Markdown, as charts, and
// as pages to hand out. It formats and decides nothing.
//
// Writers return the error of their io.Writer; charts also refuse sizes that have no room.
// All curves and zones ignore level: their mean over the judged bands is removed. In a chart of
// moves, up is what to add; in the chart of a check, up is what the mix has too much of.
//
// It builds on match, match/words and plots; what shows a result
// uses it.
package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match"
	"toneplumb/match/words"
)

// Text writes the result for a terminal of 80 [Columns].
func Text(w io.Writer, r *match.Result) error {
	var t TextReport
	t.Paragraph("", Headline(r))
	t.WriteString("\n")
	recordingLines(&t, namedOf(r))
	name := r.SolveOptions.Equaliser.Name
	if name != "" {
		t.Paragraph("equaliser    ", name)
	}
	if r.Mix != nil || name != "" {
		t.WriteString("\n")
	}
	if len(r.Moves) > 0 {
		moves(&t, r)
		t.WriteString("\n")
	}
	if r.Mix != nil {
		zones(&t, r)
		t.WriteString("\n")
	}
	return t.end(w, r)
}

// TextBlank writes what [Text] says of the recordings, without what a worksheet asks for.
func TextBlank(w io.Writer, r *match.Result) error {
	var t TextReport
	recordingLines(&t, namedOf(r))
	t.WriteString("\n")
	t.Paragraph("", "A worksheet: the moves are not printed here either. They are in the solution, which a .pdf has as its second page. Without --blank they are printed.")
	return t.WriteOut(w)
}

// end writes the sentences and what to watch out for.
func (p *TextReport) end(w io.Writer, r *match.Result) error {
	for _, s := range Sentences(r) {
		p.Paragraph("", s)
	}
	p.Warnings(Remarks(r.Warnings))
	return p.WriteOut(w)
}

// moves writes the dials, and below each move its reason.
func moves(t *TextReport, r *match.Result) {
	const row = "%2s  %-10s %9s %8s %5s  "
	const widthCells = 23
	if held(r) {
		t.Paragraph("", dialledAlready+":")
	}
	header := " #  shape      frequency     gain     Q  width"
	if hasIntervals(r) {
		header = Pad(header, Columns-Cells(ifAllTone)) + ifAllTone // over the ranges, to the margin
	}
	t.WriteString(header + "\n")
	for i, m := range r.Moves {
		lead := fmt.Sprintf(row, fmt.Sprint(i+1), words.Shape(m.Shape), words.FormatHz(m.Dial.FreqHz), words.FormatGain(m.GainDB)+" dB", fmt.Sprintf("%.2f", m.Q))
		width, why := Width(m), whyOf(r, m)
		switch likely := Interval(m); {
		case likely == "", held(r):
		case Cells(width) > widthCells: // some dials have long names
			why = ifAllTone + " " + likely + " dB; " + why
		default:
			width = Pad(width, widthCells) + " " + likely
		}
		t.WriteString(lead + width + "\n")
		t.Paragraph("    ", why)
	}
	t.Paragraph(fmt.Sprintf(row, "", "trim", "", words.FormatGain(r.TrimDB)+" dB", ""), trimReason(r))
}

// hasIntervals reports whether the likely range of a move is known. Moves that are dialled already and
// kept need none.
func hasIntervals(r *match.Result) bool {
	return !held(r) && slices.ContainsFunc(r.Moves, func(m match.Move) bool { return !math.IsNaN(m.GainLowDB) })
}

// TrimReason returns why the trim has its value, given how many dB it is below equal loudness.
func TrimReason(lowerDB float64) string {
	if lowerDB > 0 {
		return fmt.Sprintf("%.1f dB below equal loudness, to keep peaks under −1 dBTP", lowerDB)
	}
	return "keeps the loudness"
}

// trimReason returns why there is a trim.
func trimReason(r *match.Result) string {
	if r.Mix == nil {
		return "the level of the curve"
	}
	return TrimReason(r.TrimLoweredDB)
}

// Width returns the width of a move in the terms of the equaliser's dial. If the dial is a Q
// or slope, it returns the bandwidth of a bell in octaves, or the slope and steepness of a shelf.
func Width(m match.Move) string {
	text := ""
	switch m.Dial.Stated.Width {
	case fit.OwnWidth, fit.ShelfQ:
		if m.Dial.Stated.Law != (fit.WidthLaw{}) { // the dial is neither Q nor slope
			text = fmt.Sprintf("dial %.2f", m.Dial.Width)
			break
		}
		text = ownWidth(m)
	case fit.NoWidth:
		text = "no dial"
	case fit.DBPerOct:
		text = fmt.Sprintf("%.1f dB/oct", m.Dial.Width)
	case fit.Octaves:
		text = fmt.Sprintf("%.2f oct", m.Dial.Width)
	case fit.Octaves3DB:
		text = fmt.Sprintf("%.2f oct at −3 dB", m.Dial.Width)
	}
	if m.Dial.Stated.Freq == fit.Corner {
		text += ", at the corner"
	}
	return text
}

func ownWidth(m match.Move) string {
	if m.Shape == biquad.Bell {
		return fmt.Sprintf("%.2f oct", biquad.BandwidthFromQ(m.Q))
	}
	slope := biquad.SlopeFromQ(m.Q, m.GainDB)
	return fmt.Sprintf("slope %.2f, %.1f dB/oct", slope, biquad.SteepestDBPerOct(slope, m.GainDB))
}

// judgedEdges returns from where to where a zone is judged; its own edges if it is left out, which a difference of NaN is.
func judgedEdges(c *match.Comparison, z match.Zone, differenceDB float64) (low, high string) {
	lowHz, highHz := z.LowHz, z.HighHz
	if !math.IsNaN(differenceDB) {
		lowHz, highHz = c.JudgedHzOf(z)
	}
	return words.FormatHz(lowHz), words.FormatHz(highHz)
}

// zones writes where the mix is in each zone, ignoring level, and where the moves take it.
func zones(t *TextReport, r *match.Result) {
	header := "    zone        from       to            the mix is"
	switch {
	case held(r):
		header = "    zone        from       to    without your moves        with your moves"
	case len(r.Moves) > 0:
		header += "        after the moves"
	}
	t.WriteString(header + "\n")
	for _, z := range r.Zones {
		now, half, after := "left out", "", ""
		if !math.IsNaN(z.DifferenceDB) {
			now = words.FormatDifference(z.DifferenceDB)
			if z.HalfDB >= 0.05 {
				half = fmt.Sprintf("±%.1f", z.HalfDB)
			}
			if len(r.Moves) > 0 {
				after = words.FormatDifference(z.DifferenceDB - z.FittedDB)
			}
		}
		low, high := judgedEdges(r.Comparison, z.Zone, z.DifferenceDB)
		line := fmt.Sprintf("    %-10s %8s %8s  %15s %-5s  %15s", z.Name, low, high, now, half, after)
		t.WriteString(strings.TrimRight(line, " ") + "\n")
	}
}

// TextAloud writes the result in lines that make sense one by one, each figure with its name: for
// programs that read a file aloud, and for mail. [Text] has the same in columns.
func TextAloud(w io.Writer, r *match.Result) error {
	var t TextReport
	t.Paragraph("", Headline(r))
	t.WriteString("\n")
	t.items(recordingsAloud(namedOf(r)).Items)
	if name := r.SolveOptions.Equaliser.Name; name != "" {
		t.Paragraph("", "equaliser: "+name)
	}
	movesAloud(&t, r)
	zonesAloud(&t, r)
	t.WriteString("\n")
	return t.end(w, r)
}

func movesAloud(t *TextReport, r *match.Result) {
	if len(r.Moves) == 0 {
		return
	}
	t.WriteString("\n")
	if held(r) {
		t.Paragraph("", dialledAlready+":")
	}
	for i, m := range r.Moves {
		text := fmt.Sprintf("Move %d: %s, %s, gain %s dB", i+1, words.Shape(m.Shape), words.FormatHz(m.Dial.FreqHz), words.FormatGain(m.GainDB))
		if likely := Interval(m); likely != "" && !held(r) {
			text += ", " + ifAllTone + " " + likely + " dB"
		}
		t.Paragraph("", fmt.Sprintf("%s, Q %.2f, width %s. %s.", text, m.Q, Width(m), words.UpperFirst(whyOf(r, m))))
	}
	t.Paragraph("", fmt.Sprintf("Trim: %s dB, %s.", words.FormatGain(r.TrimDB), trimReason(r)))
}

func zonesAloud(t *TextReport, r *match.Result) {
	if r.Mix == nil {
		return
	}
	t.WriteString("\n")
	for _, z := range r.Zones {
		low, high := judgedEdges(r.Comparison, z.Zone, z.DifferenceDB)
		text := fmt.Sprintf("%s, %s to %s: ", words.UpperFirst(z.Name), low, high)
		if math.IsNaN(z.DifferenceDB) {
			t.Paragraph("", text+"left out.")
			continue
		}
		now, after := "the mix is ", "; after the moves "
		if held(r) {
			now, after = "without your moves the mix is ", "; with them "
		}
		text += now + words.FormatDifference(z.DifferenceDB)
		if z.HalfDB >= 0.05 {
			text += fmt.Sprintf(", ±%.1f", z.HalfDB)
		}
		if len(r.Moves) > 0 {
			text += after + words.FormatDifference(z.DifferenceDB-z.FittedDB)
		}
		t.Paragraph("", text+".")
	}
}
