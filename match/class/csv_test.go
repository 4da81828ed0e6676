package class

import (
	"bytes"
	"encoding/csv"
	"regexp"
	"slices"
	"strings"
	"testing"

	"toneplumb/match"
)

// No cell of a spreadsheet is a formula, and what is a number stays one.
func TestCSVCells(t *testing.T) {
	number := regexp.MustCompile(`^-?[0-9]+([.,][0-9]+)?$`)
	for _, comma := range []bool{false, true} {
		var b bytes.Buffer
		if err := CSV(&b, tableOf(t, false), comma); err != nil {
			t.Fatal(err)
		}
		in := csv.NewReader(strings.NewReader(strings.TrimPrefix(b.String(), "\ufeff")))
		if comma {
			in.Comma = ';'
		}
		rows, err := in.ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		negative := 0
		for _, row := range rows {
			for i, cell := range row {
				if cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) && !number.MatchString(cell) {
					t.Errorf("%s: %q is a formula", rows[0][i], cell)
				}
				if strings.HasPrefix(cell, "-") {
					negative++
				}
				if strings.HasSuffix(rows[0][i], "_db") && cell != "" && cell != rows[0][i] && !number.MatchString(cell) {
					t.Errorf("%s: %q is no number", rows[0][i], cell)
				}
			}
		}
		if negative == 0 {
			t.Error("no negative number to see")
		}
	}
	for text, want := range map[string]string{
		"=cmd|' /C calc'!A1": "'=cmd|' /C calc'!A1", "+1": "'+1", "-1": "'-1", "@SUM(A1)": "'@SUM(A1)", " =1": "' =1", "\t=1": "'\t=1",
		"＝1": "'＝1", "a=1": "a=1", "": "", "two\r\nlines": "two��lines",
	} {
		if got := asText(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

// Where no move works in the farthest zone, text, page, CSV and JSON say so, and none that a move deals with it.
func TestElsewhereInEveryForm(t *testing.T) {
	r := Row{Gap: &match.Gap{ZoneDifference: match.ZoneDifference{Zone: match.Zones()[0], DifferenceDB: -4}, Cause: match.Elsewhere}}
	const want = "sub 4.0 dB over: no move works there; what is done elsewhere closes part of it"
	if got := gapWords(r); got != want {
		t.Errorf("text and page: %q, want %q", got, want)
	}
	if got := mixOf(r).LargestGap; got.Cause != "elsewhere" || got.Text != want || got.Move != nil {
		t.Errorf("JSON: %+v", got)
	}
	if got := (csvCells{"."}).of(r); !slices.Contains(got, "elsewhere") || slices.Contains(got, "move") {
		t.Errorf("CSV: %q", got)
	}
	if r.Gap.Cause = match.Answered; gapWords(r) != "" {
		t.Errorf("moves deal with it: %q", gapWords(r))
	}
}
