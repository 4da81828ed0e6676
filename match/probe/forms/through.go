package forms

import (
	"fmt"
	"io"

	"toneplumb/match/probe"
	"toneplumb/match/report"
	"toneplumb/match/words"
	"toneplumb/plots"
	"toneplumb/spectrum"
)

// Through is a comparison of two bounces, with the paths of their files.
type Through struct {
	*probe.TransferFunction
	Before, After string
}

// ThroughText writes the comparison for people.
func ThroughText(w io.Writer, t Through) error {
	r := &report.TextReport{}
	r.File("before", t.Before, fmt.Sprintf("%g kHz", float64(t.RateHz)/1000))
	r.File("after", t.After, words.Lag(t.TransferFunction))
	r.WriteString("\nmove  asked                               got\n")
	for i, m := range t.Moves {
		fmt.Fprintf(r, "%4d  %-10s %-24s %-24s %s\n", i+1, words.Shape(m.Asked.Shape), words.FilterTerms(m.Asked), words.FilterTerms(m.Got), words.AskedOrNot(m))
	}
	fmt.Fprintf(r, "trim  %-35s %s\n\n", words.FormatGain(t.TrimDB)+" dB", words.TrimGot(t.TransferFunction))
	r.Paragraph("", words.Dialled(t.TransferFunction))
	for _, s := range throughSpans(t) {
		r.Paragraph("", fmt.Sprintf("Left out from %s to %s: %s.", words.FormatHz(s.FromHz), words.FormatHz(s.ToHz), s.Why))
	}
	r.Warnings(words.Findings(t.Findings()))
	return r.WriteOut(w)
}

// throughSpans returns the bands left out; adjacent ones with the same reason are joined.
func throughSpans(t Through) []plots.Span {
	var spans []plots.Span
	for b, why := range t.LeftOut {
		if why == "" {
			continue
		}
		if n := len(spans); n > 0 && b > 0 && t.LeftOut[b-1] == why {
			spans[n-1].ToHz = spectrum.EdgeHz(b + 1)
		} else {
			spans = append(spans, plots.Span{FromHz: spectrum.EdgeHz(b), ToHz: spectrum.EdgeHz(b + 1), Why: words.LeftOutOfBounce(why)})
		}
	}
	return spans
}

// ThroughFigure draws the comparison.
func ThroughFigure(t Through) *plots.Figure {
	hz := spectrum.Centres()
	off := make([]float64, len(hz))
	for b := range off {
		off[b] = t.OffDB(b)
	}
	f := &plots.Figure{
		Title: "What was asked of the equaliser, and what the music got",
		Lines: []string{"before: " + report.LineName(report.Name(t.Before)), "after: " + report.LineName(report.Name(t.After))},
		Panels: []plots.Panel{
			{Title: "gain", YLabel: "dB", ZeroLine: true, MinSpanDB: 8, LeftOut: throughSpans(t), Curves: []plots.Curve{
				{Name: "got", FreqHz: hz, DB: t.GotDB, Style: plots.Style{Colour: plots.Black, Weight: plots.Strong}},
				{Name: "asked", FreqHz: hz, DB: t.AskedDB, Style: plots.Style{Colour: plots.Blue, Dash: plots.Dashed}},
			}},
			{Title: "got minus asked, level ignored", YLabel: "dB", ZeroLine: true, MinSpanDB: 2, Share: 0.5, Curves: []plots.Curve{
				{FreqHz: hz, DB: off, Style: plots.Style{Colour: plots.Black}},
			}},
		},
		Table: plots.Table{Header: []string{"", "shape", "asked", "got", ""}},
	}
	for i, m := range t.Moves {
		f.Table.Rows = append(f.Table.Rows, []string{fmt.Sprint(i + 1), words.Shape(m.Asked.Shape), words.FilterTerms(m.Asked), words.FilterTerms(m.Got), words.AskedOrNot(m)})
	}
	f.Table.Rows = append(f.Table.Rows, []string{"", "trim", words.FormatGain(t.TrimDB) + " dB", words.TrimGot(t.TransferFunction), ""})
	return f
}

// ThroughJSON writes the comparison as one document.
func ThroughJSON(w io.Writer, t Through) error {
	type point struct {
		FreqHz  report.Number     `json:"freq_hz"`
		AskedDB report.Number     `json:"asked_db"`
		GotDB   report.Number     `json:"got_db"`
		LeftOut *report.Exclusion `json:"left_out"`
	}
	type moved struct {
		Asked *report.Filter `json:"asked"`
		Got   *report.Filter `json:"got"`
		Words string         `json:"words"`
	}
	d := struct {
		Version  int           `json:"version"`
		RateHz   int           `json:"rate_hz"`
		LagSec   report.Number `json:"lag_s"`
		Inverted bool          `json:"inverted"`
		Moves    []moved       `json:"moves"`
		TrimDB   report.Number `json:"trim_asked_db"`
		LevelDB  report.Number `json:"trim_got_db"`
		WorstDB  report.Number `json:"worst_db"`
		WorstHz  report.Number `json:"worst_hz"`
		Clipped  int           `json:"clipped_places"`
		Curve    []point       `json:"curve"`

		BalanceDB report.Number    `json:"balance_db"` // right against left
		SidesDB   report.Number    `json:"sides_db"`   // the largest difference of their responses
		SidesHz   report.Number    `json:"sides_hz"`
		OtherDB   report.Number    `json:"other_db"` // level of what no filter makes, against the sound
		Warnings  []report.Warning `json:"warnings"`
	}{BalanceDB: report.Number(t.BalanceDB), SidesDB: report.Number(t.SidesDB), SidesHz: report.Number(t.SidesHz), OtherDB: report.Number(t.OtherDB),
		Warnings: report.WarningsJSON(t.Findings()), Version: report.FindingsVersion, Clipped: t.Clipped, RateHz: t.RateHz, LagSec: report.Number(t.LagSec), Inverted: t.Inverted, Moves: []moved{}, TrimDB: report.Number(t.TrimDB),
		LevelDB: report.Number(t.LevelDB), WorstDB: report.Number(t.WorstDB), WorstHz: report.Number(t.WorstHz)}
	for _, m := range t.Moves {
		d.Moves = append(d.Moves, moved{report.FilterOf(m.Asked), report.FilterOf(m.Got), words.AskedOrNot(m)})
	}
	for b, why := range t.LeftOut {
		p := point{FreqHz: report.Number(spectrum.CentreHz(b)), AskedDB: report.Number(t.AskedDB[b]), GotDB: report.Number(t.GotDB[b])}
		if why != "" {
			p.LeftOut = &report.Exclusion{Code: string(why), Text: words.LeftOutOfBounce(why)}
		}
		d.Curve = append(d.Curve, p)
	}
	return report.WriteJSON(w, d)
}
