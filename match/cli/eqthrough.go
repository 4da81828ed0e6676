package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"toneplumb/match/artefact"
	"toneplumb/match/cli/internal/files"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/job"
	"toneplumb/match/probe"
	"toneplumb/match/report"
	"toneplumb/match/words"
	"toneplumb/plots"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
)

// runThrough compares a mix before and after an equaliser.
func runThrough(ctx context.Context, o eqreadOptions, stdout io.Writer) error {
	switch {
	case len(o.inputs) != 2:
		return fail(finding.FilesNeeded, "toneplumb eqread MIX MIX-THROUGH-EQ --settings settings.json", "a mix before and after is needed, %d given", len(o.inputs))
	case o.dialled != "" || o.equaliser != "":
		return fail(finding.OptionsClash, "leave them out", "--dialled and --eq say nothing beside --settings")
	}
	formats := artefact.Formats[*probe.TransferFunction]{
		artefact.Simple(".png", func(w io.Writer, t *probe.TransferFunction) error { return throughFigure(t, o).WritePNG(w) }),
		artefact.Simple(".svg", func(w io.Writer, t *probe.TransferFunction) error { return throughFigure(t, o).WriteSVG(w) }),
		artefact.Simple(".json", writeThroughJSON),
	}
	if err := flags.CheckPaths(o.outputs, append([]string{o.settings}, o.inputs...), formats.Extensions(), o.replace); err != nil {
		return err
	}
	settings, err := job.ReadSettings(o.settings, o.stdin)
	if err != nil {
		return err
	}
	open := func(path string) func() (audio.Source, error) {
		return func() (audio.Source, error) { return audio.Open(ctx, path) }
	}
	got, err := probe.NewTransferFunction(ctx, open(o.inputs[0]), open(o.inputs[1]), settings)
	if err != nil {
		var file *audio.Error
		if errors.As(err, &file) || errors.Is(err, context.Canceled) {
			return err
		}
		return fail(finding.KindOf(err, finding.OtherMusic), "bounce the same passage twice, at one rate, with nothing else changed: no compressor or limiter after the equaliser",
			"%q and %q %s", o.inputs[0], o.inputs[1], err)
	}
	if err := files.Put(ctx, o.replace, flags.Documents(ctx, o.outputs, formats, got, artefact.Style{})); err != nil {
		return err
	}
	if o.json {
		return writeThroughJSON(stdout, got)
	}
	t := &report.TextReport{}
	t.File("before", o.inputs[0], fmt.Sprintf("%g kHz", float64(got.RateHz)/1000))
	t.File("after", o.inputs[1], lagWords(got))
	t.WriteString("\nmove  asked                               got\n")
	for i, m := range got.Moves {
		fmt.Fprintf(t, "%4d  %-10s %-24s %-24s %s\n", i+1, words.Shape(m.Asked.Shape), words.FilterTerms(m.Asked), words.FilterTerms(m.Got), askedOrNot(m))
	}
	asked, had := trimWords(got)
	fmt.Fprintf(t, "trim  %-35s %s\n\n", asked, had)
	if math.Abs(got.WorstDB) <= probe.UnlikeDB {
		t.Paragraph("", fmt.Sprintf("It is dialled right: the curve is nowhere more than %.2f dB from what was asked, ignoring level.", math.Abs(got.WorstDB)))
	} else {
		t.Paragraph("", fmt.Sprintf("The curve is up to %.2f dB from what was asked, at %s, ignoring level.", math.Abs(got.WorstDB), words.FormatHz(got.WorstHz)))
	}
	for _, s := range throughSpans(got) {
		t.Paragraph("", fmt.Sprintf("Left out from %s to %s: %s.", words.FormatHz(s.FromHz), words.FormatHz(s.ToHz), s.Why))
	}
	t.Warnings(words.Findings(got.Findings()))
	flags.ReportWritten(t, o.outputs...)
	return t.WriteOut(stdout)
}

// trimWords returns the trim as asked for and as measured.
func trimWords(t *probe.TransferFunction) (asked, got string) {
	got = words.Fixed(t.LevelDB, 2, "−") + " dB"
	if t.LevelDB >= 0.005 { // less is printed as 0.00
		got = "+" + got
	}
	return words.FormatGain(t.TrimDB) + " dB", got
}

func lagWords(t *probe.TransferFunction) string {
	words := "starts together"
	if ms := math.Abs(t.LagSec) * 1000; ms >= 0.1 {
		words = fmt.Sprintf("%.1f ms %s", ms, map[bool]string{true: "later", false: "earlier"}[t.LagSec > 0])
	}
	if t.Inverted {
		words += ", inverted"
	}
	return words
}

// askedOrNot says which parts of a move differ from what was asked for. Our choice: a tenth of a dB,
// a semitone and a tenth of Q are visible on a dial.
func askedOrNot(m probe.MoveGot) string {
	if m.Asked.Shape.IsCut() {
		return "not checked"
	}
	var off []string
	if math.Abs(m.Got.GainDB-m.Asked.GainDB) > probe.UnlikeDB {
		off = append(off, "gain")
	}
	if math.Abs(math.Log2(m.Got.FreqHz/m.Asked.FreqHz)) > 1.0/12 {
		off = append(off, "frequency")
	}
	if math.Abs(math.Log(m.Got.Q/m.Asked.Q)) > 0.1 {
		off = append(off, "width")
	}
	if off == nil {
		return "as asked"
	}
	return "check " + strings.Join(off, ", ")
}

// throughSpans returns the bands left out; adjacent ones with the same reason are joined.
func throughSpans(t *probe.TransferFunction) []plots.Span {
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

func throughFigure(t *probe.TransferFunction, o eqreadOptions) *plots.Figure {
	hz := spectrum.Centres()
	off := make([]float64, len(hz))
	for b := range off {
		off[b] = t.GotDB[b] - t.AskedDB[b] - (t.LevelDB - t.TrimDB)
	}
	f := &plots.Figure{
		Title: "What was asked of the equaliser, and what the music got",
		Lines: []string{"before: " + report.LineName(report.Name(o.inputs[0])), "after: " + report.LineName(report.Name(o.inputs[1]))},
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
		f.Table.Rows = append(f.Table.Rows, []string{fmt.Sprint(i + 1), words.Shape(m.Asked.Shape), words.FilterTerms(m.Asked), words.FilterTerms(m.Got), askedOrNot(m)})
	}
	asked, got := trimWords(t)
	f.Table.Rows = append(f.Table.Rows, []string{"", "trim", asked, got, ""})
	return f
}

func writeThroughJSON(w io.Writer, t *probe.TransferFunction) error {
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
		d.Moves = append(d.Moves, moved{report.FilterOf(m.Asked), report.FilterOf(m.Got), askedOrNot(m)})
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
