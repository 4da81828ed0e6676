// Package table reads tables that people filled in, whatever spreadsheet they used.
package table

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"toneplumb/biquad"
	"toneplumb/spectrum/measure"
)

// Row is a line of a table that a person filled in.
type Row struct {
	Line  int               // in the file, from 1
	Cells map[string]string // by column; trimmed
}

// maxRows bounds what Read takes; our choice: a hundred times a long sheet.
const maxRows = 5000

// Read reads a table with a line of column names, as spreadsheets in various
// countries write it: in UTF-8 or UTF-16, with commas, semicolons or tabs
// between cells, cells in quotes or not. Columns may stand in any order, and others
// beside them; rows with nothing in them and lines after # are passed over. An error
// names the line.
func Read(r io.Reader, columns []string) ([]Row, error) {
	var rows []Row
	var order []string // columns as they stand
	between := ","
	scan := bufio.NewScanner(measure.Text(r))
	for line := 1; scan.Scan(); line++ {
		text := strings.TrimSpace(scan.Text())
		if strings.Trim(text, ",;\t \"") == "" || strings.HasPrefix(strings.Trim(text, `"`), "#") {
			continue
		}
		if order == nil {
			for _, b := range []string{"\t", ";"} {
				if strings.Contains(text, b) {
					between = b
				}
			}
			for _, c := range splitCells(text, between) {
				order = append(order, strings.ToLower(c))
			}
			for _, c := range columns {
				if !slices.Contains(order, c) {
					return nil, fmt.Errorf("line %d: there is no column %q; the first line must name %s", line, c, strings.Join(columns, ","))
				}
			}
			continue
		}
		cells := splitCells(text, between)
		if len(cells) > len(order) && strings.Trim(strings.Join(cells[len(order):], ""), " ") != "" {
			return nil, fmt.Errorf("line %d has %d values under %d columns; beside decimal commas put ; between them", line, len(cells), len(order))
		}
		row := Row{line, map[string]string{}}
		for i, c := range cells[:min(len(cells), len(order))] {
			row.Cells[order[i]] = c
		}
		if len(rows) == maxRows {
			return nil, fmt.Errorf("there are more than %d rows", maxRows)
		}
		rows = append(rows, row)
	}
	switch err := scan.Err(); {
	case errors.Is(err, bufio.ErrTooLong):
		return nil, errors.New("a line is too long")
	case err != nil:
		return nil, err
	case order == nil:
		return nil, errors.New("it is empty")
	}
	return rows, nil
}

// splitCells parts a line; what stands in quotes stays in one piece.
func splitCells(text, between string) []string {
	var cells []string
	var cell strings.Builder
	quoted := false
	for _, c := range text {
		switch {
		case c == '"':
			quoted = !quoted
		case string(c) == between && !quoted:
			cells = append(cells, strings.TrimSpace(cell.String()))
			cell.Reset()
		default:
			cell.WriteRune(c)
		}
	}
	return append(cells, strings.TrimSpace(cell.String()))
}

// Number reads a cell as a person writes it: "1.2k", "1,2 kHz", "+3 dB", "−2,5".
func (r Row) Number(column string, low, high float64) (float64, error) {
	text := r.Cells[column]
	if text == "" {
		return 0, fmt.Errorf("line %d: %s is empty", r.Line, column)
	}
	x, ok := ReadNumber(text)
	switch {
	case !ok:
		return 0, fmt.Errorf("line %d: %s %q is no number", r.Line, column, text)
	case !(x >= low && x <= high):
		return 0, fmt.Errorf("line %d: %s %g is not between %g and %g", r.Line, column, x, low, high)
	}
	return x, nil
}

// ReadNumber reads a number as a person writes it, its unit with it; see [Row.Number].
func ReadNumber(text string) (float64, bool) {
	text = strings.ToLower(strings.Join(strings.Fields(text), ""))
	text = strings.NewReplacer("−", "-", "–", "-").Replace(text)
	scale := 1.0
	for _, unit := range []string{"hz", "db", "oct"} {
		text = strings.TrimSuffix(text, unit)
	}
	if k := strings.TrimSuffix(text, "k"); k != text {
		text, scale = k, 1000
	}
	if strings.Count(text, ",") == 1 && !strings.Contains(text, ".") {
		text = strings.Replace(text, ",", ".", 1)
	}
	if text == "" || strings.Trim(text, "0123456789.+-") != "" {
		return 0, false
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, false
	}
	return x * scale, true
}

// Shape reads the column shape: "low-shelf", "Low Shelf", "high_shelf".
func (r Row) Shape() (biquad.Shape, error) {
	text := r.Cells["shape"]
	word := strings.Join(strings.FieldsFunc(strings.ToLower(text), func(c rune) bool { return c == ' ' || c == '-' || c == '_' }), "-")
	s, known := biquad.ParseShape(word)
	if !known {
		return 0, fmt.Errorf("line %d: there is no shape %q; low-shelf, bell and high-shelf are known", r.Line, text)
	}
	return s, nil
}
