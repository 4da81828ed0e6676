package class

import (
	"encoding/csv"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"toneplumb/match"
	"toneplumb/match/words"
)

// CSV writes the table with one row for each mix, by RFC 4180, with the names of the JSON
// document. Differences are the mix's level less the references'. decimalComma separates cells
// with semicolons and writes numbers with a decimal comma, as spreadsheets of many countries
// expect, and starts with a byte order mark, by which they recognise UTF-8. The error is w's.
//
// Spreadsheets take a cell that begins with = + - @ (or tab, carriage return) for a formula. An
// apostrophe before it makes it text, from memory after OWASP's page on CSV injection. Numbers
// have none: −3 stays a number.
func CSV(w io.Writer, t *Table, decimalComma bool) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	cells := csvCells{point: "."}
	if decimalComma {
		out.Comma, cells.point = ';', ","
		if _, err := io.WriteString(w, "\ufeff"); err != nil {
			return err
		}
	}
	header := []string{"number", "file", "verdict", "distance_before_db", "distance_after_db", "duration_s", "loudness_lufs", "true_peak_dbtp"}
	for _, z := range match.Zones() {
		zone := z.Column()
		header = append(header, zone+"_mix_minus_reference_db", zone+"_low_db", zone+"_high_db", zone+"_tolerance_db", zone+"_verdict")
	}
	header = append(header, "moves", "trim_db", "largest_gap_zone", "largest_gap_cause", "distance_then_db", "since_then", "error")
	rows := [][]string{header}
	for _, r := range t.Rows {
		row := make([]string, len(header))
		copy(row, []string{strconv.Itoa(r.Number), asText(r.Name)})
		if r.Problem != "" {
			row[len(row)-1] = asText(r.Problem)
		} else {
			copy(row[2:], cells.of(r))
		}
		rows = append(rows, row)
	}
	return out.WriteAll(rows)
}

// csvCells writes numbers with a decimal point or comma.
type csvCells struct{ point string }

// of returns the cells of a mix after its name.
func (c csvCells) of(r Row) []string {
	row := []string{r.Verdict.String(), c.number(r.DistanceDB, 2), c.number(r.DistanceAfterDB, 2), c.number(r.DurationSec, 1), c.number(r.LoudnessLUFS, 1), c.number(r.TruePeakDBTP, 1)}
	for _, z := range r.Zones {
		verdict := z.Verdict.String()
		if z.Why == match.LeftOutZone {
			verdict = z.Why.String()
		}
		row = append(row, c.number(-z.DifferenceDB, 1), c.number(-z.HighDB, 1), c.number(-z.LowDB, 1), c.number(z.ToleranceDB, 1), verdict)
	}
	gap, since := []string{"", ""}, []string{"", ""}
	if r.Gap != nil {
		gap = []string{r.Gap.Name, r.Gap.Cause.Code()}
		if r.Gap.Cause == match.NoneSought { // no other column says why
			gap[1] = r.Gap.NoMoves.Outlook.Code()
		}
	}
	if r.Since != nil {
		since = []string{c.number(r.Since.DistanceThenDB, 2), r.Since.Nearness().String()}
	}
	moves := asText(c.withPoint(settings(r)))
	return slices.Concat(row, []string{moves, c.number(math.Round(r.TrimDB*10)/10, 1)}, gap, since)
}

// number writes a number; "" if it is none.
func (c csvCells) number(x float64, decimals int) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return ""
	}
	return c.withPoint(words.Fixed(x, decimals, "-"))
}

func (c csvCells) withPoint(text string) string { return strings.ReplaceAll(text, ".", c.point) }

// asText keeps a spreadsheet from running text as a formula.
func asText(text string) string {
	text = strings.Map(func(c rune) rune {
		if c < ' ' && c != '\t' || c == 0x7f {
			return '\ufffd'
		}
		return c
	}, text)
	if trimmed := strings.TrimLeft(text, " \u00a0"); trimmed != "" && strings.ContainsRune("=+-@\t＝＋－＠", []rune(trimmed)[0]) {
		return "'" + text
	}
	return text
}
