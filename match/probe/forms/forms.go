// Package forms writes a learnt [probe.Equaliser] as text, as a JSON document and for a page, and a
// [probe.TransferFunction] as text, JSON and a chart.
package forms

import (
	"fmt"
	"io"
	"math"
	"strings"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/match/probe"
	"toneplumb/match/report"
	"toneplumb/match/words"
)

// Text writes the equaliser for people. description is the file that was written, "" for none.
func Text(w io.Writer, e *probe.Equaliser, description string) error {
	t := &report.TextReport{}
	t.WriteString("print  dialled                               is                         off by\n")
	for _, row := range printRows(e) {
		fmt.Fprintln(t, strings.TrimRight(fmt.Sprintf("%5s  %-37s %-26s %s", row[0], row[1], row[2], row[3]), " "))
	}
	t.WriteString("\n")
	for _, shape := range biquad.GainShapes {
		if _, learnt := e.Terms[shape]; learnt {
			t.Paragraph(fmt.Sprintf("%-11s ", words.Shape(shape)+":"), words.Dials(e, shape))
		}
	}
	t.Paragraph("top:        ", words.NearHalfRate(e))
	corrections(t, e)
	t.Warnings(words.Findings(e.Findings()))
	if description != "" {
		fmt.Fprintf(t, "\nwrote %s: give it to match with --eq; its ranges and steps may be edited\n", report.Printable(description))
	}
	return t.WriteOut(w)
}

// printRows returns a row for each print: its number, what was dialled, what it is and how far that
// is off.
func printRows(e *probe.Equaliser) [][]string {
	var rows [][]string
	for _, s := range e.Measured {
		is := ""
		if !s.Flat {
			is = words.Print(s)
		}
		rows = append(rows, []string{fmt.Sprint(s.Number), dialledWords(s), is, words.PrintOff(s)})
	}
	return rows
}

// dialledWords returns the setting of a print.
func dialledWords(s *probe.Measured) string {
	switch {
	case s.Flat:
		return "everything at 0 dB"
	case s.Shape.IsCut():
		return words.Shape(s.Shape) + " " + words.FormatHz(s.FreqHz)
	}
	asked := fmt.Sprintf("%s %s %s dB", words.Shape(s.Shape), words.FormatHz(s.FreqHz), words.FormatGain(s.GainDB))
	if s.Width > 0 {
		asked += fmt.Sprintf(" width %g", s.Width)
	}
	return asked
}

func corrections(t *report.TextReport, e *probe.Equaliser) {
	all := e.Corrections()
	if len(all) == 0 {
		return
	}
	t.WriteString("\nmove advised                      dial instead                 off as is  then\n")
	for _, c := range all {
		shown := c.Dial
		shown.FreqHz = c.FreqHz
		fmt.Fprintf(t, "%-10s %-22s %-28s  %.2f dB    %.2f dB\n", words.Shape(c.Advised.Shape), words.FilterTerms(c.Advised), words.FilterTerms(shown), c.OffDB, c.LeftDB)
	}
}

type learntJSON struct {
	Version     int                    `json:"version"`
	RateHz      int                    `json:"rate_hz"`
	Prints      []learntPrintJSON      `json:"prints"`
	Shapes      []learntShapeJSON      `json:"shapes"`
	TopRates    *report.Number         `json:"top_times_rate"` // null: analogue
	Corrections []learntCorrectionJSON `json:"corrections"`
	Warnings    []report.Warning       `json:"warnings"`
}

type learntPrintJSON struct {
	Print      int             `json:"print"`
	File       string          `json:"file"`
	Dialled    *report.Filter  `json:"dialled"`
	Is         *report.Filter  `json:"is"`
	OffDB      report.Number   `json:"off_db"`
	OffHz      report.Number   `json:"off_hz"`
	LagSec     report.Number   `json:"lag_s"`
	Inverted   bool            `json:"inverted"`
	NotDialled bool            `json:"not_dialled"`
	OtherWay   bool            `json:"other_way"`
	LevelDB    report.Number   `json:"level_db"`
	FreqHz     []report.Number `json:"freq_hz"`
	GainDB     []report.Number `json:"gain_db"`
}

type learntShapeJSON struct {
	Shape      string             `json:"shape"`
	FreqIs     string             `json:"freq_is"`
	WidthIs    string             `json:"width_is"`
	FixedWidth *report.Number     `json:"fixed_width"`
	WidthLaw   *document.WidthLaw `json:"width_law"`
	WidthInHz  bool               `json:"width_in_hz"`
	RestDB     report.Number      `json:"rest_db"`
}

type learntCorrectionJSON struct {
	Advised *report.Filter `json:"advised"`
	Dial    *report.Filter `json:"dial"`
	OffDB   report.Number  `json:"off_db"`
	LeftDB  report.Number  `json:"left_db"`
}

// JSON writes the equaliser as one document.
func JSON(w io.Writer, e *probe.Equaliser) error {
	d := learntJSON{Version: report.FindingsVersion, RateHz: e.RateHz, Shapes: []learntShapeJSON{}, Corrections: []learntCorrectionJSON{}, Warnings: report.WarningsJSON(e.Findings()),
		TopRates: report.KnownIf(e.Oversampling != probe.Analogue, e.Oversampling)}
	for _, s := range e.Measured {
		p := learntPrintJSON{Print: s.Number, File: s.File, OffDB: report.Number(math.Abs(s.WorstDB)), OffHz: report.Number(s.WorstHz),
			LagSec: report.Number(s.Response.LagSec), Inverted: s.Response.Inverted, NotDialled: s.NotDialled, OtherWay: s.OtherWay, LevelDB: report.Number(s.LevelDB),
			FreqHz: report.Numbers(s.Response.FreqHz), GainDB: report.Numbers(s.DB)}
		if !s.Flat {
			p.Dialled = &report.Filter{Shape: s.Shape.String(), FreqHz: report.Number(s.FreqHz), GainDB: report.Number(s.GainDB), Width: report.KnownIf(s.Width > 0, s.Width)}
			if !s.NotDialled {
				p.Is = report.FilterOf(s.Filter)
			}
		}
		d.Prints = append(d.Prints, p)
	}
	for _, shape := range biquad.GainShapes {
		m, learnt := e.Terms[shape]
		if !learnt {
			continue
		}
		freqIs, widthIs := document.DialWords(shape, m.Stated)
		d.Shapes = append(d.Shapes, learntShapeJSON{Shape: shape.String(), FreqIs: freqIs, WidthIs: widthIs, FixedWidth: report.KnownIf(m.FixedWidth > 0, m.FixedWidth),
			WidthLaw: document.LawOf(m.Stated), WidthInHz: m.WidthInHz, RestDB: report.Number(e.RestDB[shape])})
	}
	for _, c := range e.Corrections() {
		d.Corrections = append(d.Corrections, learntCorrectionJSON{report.FilterOf(c.Advised), report.FilterOf(c.Dial), report.Number(c.OffDB), report.Number(c.LeftDB)})
	}
	return report.WriteJSON(w, d)
}

// Blocks returns what was learnt about an equaliser, for a page.
func Blocks(e *probe.Equaliser) []report.Block {
	prints := report.Block{Head: []string{"print", "dialled", "is", "off by"}, Rows: printRows(e)}
	for _, row := range prints.Rows {
		row[0] = "print " + row[0] // a narrow page heads the row by it
	}
	stand := report.Block{Heading: "What the dials stand for"}
	for _, shape := range biquad.GainShapes {
		if _, learnt := e.Terms[shape]; learnt {
			stand.Items = append(stand.Items, report.Item{Lead: shape.String() + ":", Paragraphs: []string{words.Dials(e, shape)}})
		}
	}
	stand.Items = append(stand.Items, report.Item{Lead: "top:", Paragraphs: []string{words.NearHalfRate(e)}})
	instead := report.Block{Heading: "What to dial instead", Head: []string{"move advised", "dial instead", "off as it is, dB", "then, dB"}}
	for _, c := range e.Corrections() {
		shown := c.Dial
		shown.FreqHz = c.FreqHz
		instead.Rows = append(instead.Rows, []string{words.Shape(c.Advised.Shape) + " " + words.FilterTerms(c.Advised), words.FilterTerms(shown),
			fmt.Sprintf("%.2f", c.OffDB), fmt.Sprintf("%.2f", c.LeftDB)})
	}
	return report.Filled(prints, stand, report.Paragraphs(report.WatchOut, words.Findings(e.Findings())...), instead)
}
