package report

import (
	"fmt"
	"io"
	"math"

	"toneplumb/match"
	"toneplumb/match/words"
)

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
	for i, m := range r.Moves {
		text := fmt.Sprintf("Move %d: %s, %s, gain %s dB", i+1, m.Shape, words.FormatHz(m.Dial.FreqHz), words.FormatGain(m.GainDB))
		if likely := Interval(m); likely != "" {
			text += ", " + ifTone + " " + likely + " dB"
		}
		t.Paragraph("", fmt.Sprintf("%s, Q %.2f, width %s. %s.", text, m.Q, Width(m), words.UpperFirst(words.Why(m))))
	}
	t.Paragraph("", fmt.Sprintf("Trim: %s dB, %s.", words.FormatGain(r.TrimDB), trimReason(r)))
}

func zonesAloud(t *TextReport, r *match.Result) {
	if r.Mix == nil {
		return
	}
	t.WriteString("\n")
	for _, z := range r.Zones {
		text := fmt.Sprintf("%s, %s to %s: ", words.UpperFirst(z.Name), words.FormatHz(z.LowHz), words.FormatHz(z.HighHz))
		if math.IsNaN(z.DifferenceDB) {
			t.Paragraph("", text+"left out.")
			continue
		}
		text += "the mix is " + words.FormatDifference(z.DifferenceDB)
		if z.HalfDB >= 0.05 {
			text += fmt.Sprintf(", ±%.1f", z.HalfDB)
		}
		if len(r.Moves) > 0 {
			text += "; after the moves " + words.FormatDifference(z.DifferenceDB-z.FittedDB)
		}
		t.Paragraph("", text+".")
	}
}
