package class

import (
	"bytes"
	"encoding/csv"
	"regexp"
	"strings"
	"testing"
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
