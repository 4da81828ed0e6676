package report

import (
	"encoding/csv"
	"io"
	"math"

	"toneplumb/match"
)

// CurveCSV writes the curves, one line for each band. The columns are named as in the JSON
// document's curve, except that target_db is called gain_db: [document.ParseCurve] reads it as
// the curve to follow. A cell without a value is empty. The error is w's.
func CurveCSV(w io.Writer, r *match.Result) error {
	rows := [][]string{{"freq_hz", "gain_db", "difference_db", "low_db", "high_db", "spread_low_db", "spread_high_db", "fitted_db", "left_out"}}
	for b := range r.DifferenceDB {
		p := pointOf(r, b)
		why := ""
		if p.LeftOut != nil {
			why = p.LeftOut.Text
		}
		rows = append(rows, []string{p.FreqHz.Cell(), p.TargetDB.Cell(), p.DifferenceDB.Cell(), p.LowDB.Cell(), p.HighDB.Cell(),
			p.SpreadLowDB.Cell(), p.SpreadHighDB.Cell(), p.FittedDB.Cell(), why})
	}
	return writeCSV(w, rows)
}

// MovesCSV writes the moves, one a line, named as in the JSON document, and the trim
// as the last line. The dial's cells are what to set. The error is w's.
func MovesCSV(w io.Writer, r *match.Result) error {
	rows := [][]string{{"move", "shape", "freq_hz", "gain_db", "gain_low_db", "gain_high_db", "q", "bandwidth_oct", "shelf_slope",
		"dial_freq_hz", "dial_freq_is", "dial_gain_db", "dial_width", "dial_width_is", "reason"}}
	for i, m := range MovesJSON(r.Moves) {
		n := Number(i + 1)
		rows = append(rows, []string{n.Cell(), m.Shape, m.FreqHz.Cell(), m.GainDB.Cell(), m.GainLowDB.Cell(), m.GainHighDB.Cell(),
			m.Q.Cell(), m.BandwidthOct.Cell(), m.ShelfSlope.Cell(),
			m.Dial.FreqHz.Cell(), m.Dial.FreqIs, m.Dial.GainDB.Cell(), m.Dial.Width.Cell(), m.Dial.WidthIs, m.Reason})
	}
	trim := make([]string, len(rows[0]))
	db := Number(math.Round(r.TrimDB*10) / 10)
	trim[1], trim[3], trim[11], trim[14] = "trim", db.Cell(), db.Cell(), trimReason(r)
	return writeCSV(w, append(rows, trim))
}

// writeCSV writes a table as RFC 4180 defines it.
func writeCSV(w io.Writer, rows [][]string) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	return out.WriteAll(rows)
}

// Cell returns a number as it is in a JSON document, "" if that is null.
func (n *Number) Cell() string {
	if n == nil {
		return ""
	}
	if text, _ := n.MarshalJSON(); string(text) != "null" { // never fails
		return string(text)
	}
	return ""
}
