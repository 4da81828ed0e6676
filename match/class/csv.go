package class

import (
	"encoding/csv"
	"io"
	"math"
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
	number := func(x float64, decimals int) string {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return ""
		}
		text := words.Fixed(x, decimals, "-")
		if decimalComma {
			text = strings.Replace(text, ".", ",", 1)
		}
		return text
	}
	if decimalComma {
		out.Comma = ';'
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
	if err := out.Write(header); err != nil {
		return err
	}
	for _, r := range t.Rows {
		cells := []string{strconv.Itoa(r.Number), asText(r.Name)}
		if r.Problem != "" {
			for len(cells) < len(header)-1 {
				cells = append(cells, "")
			}
			cells = append(cells, asText(r.Problem))
		} else {
			cells = append(cells, r.Verdict.String(), number(r.DistanceDB, 2), number(r.DistanceAfterDB, 2), number(r.DurationSec, 1), number(r.LoudnessLUFS, 1), number(r.TruePeakDBTP, 1))
			for _, z := range r.Zones {
				verdict := z.Verdict.String()
				if z.Why == match.LeftOutZone {
					verdict = z.Why.String()
				}
				cells = append(cells, number(-z.DifferenceDB, 1), number(-z.HighDB, 1), number(-z.LowDB, 1), number(z.ToleranceDB, 1), verdict)
			}
			moves := settings(r)
			if decimalComma {
				moves = strings.ReplaceAll(moves, ".", ",")
			}
			cells = append(cells, asText(moves), number(math.Round(r.TrimDB*10)/10, 1))
			if r.Gap != nil {
				cells = append(cells, r.Gap.Name, r.Gap.Cause.Code())
			} else {
				cells = append(cells, "", "")
			}
			if r.Since != nil {
				cells = append(cells, number(r.Since.DistanceThenDB, 2), r.Since.Nearness().String(), "")
			} else {
				cells = append(cells, "", "", "")
			}
		}
		if err := out.Write(cells); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

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
