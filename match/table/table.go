// Package table reads tables that people filled in, with any spreadsheet program.
//
// It builds on biquad and spectrum/measure.
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
	Cells map[string]string // by column name in lower case; without surrounding blanks
}

// maxRows is the largest number of rows that Read accepts. Our choice: a hundred times a long
// sheet.
const maxRows = 5000

// Read reads a table whose first line has the column names, in any form that spreadsheet
// programs write: UTF-8 or UTF-16, with commas, semicolons or tabs between cells, with or
// without quotes. The given columns, in lower case, must be present, in any order; further
// columns are allowed. Empty rows and lines that start with # are skipped. Errors name the
// line.
func Read(r io.Reader, columns []string) ([]Row, error) {
	var rows []Row
	var order []string // columns in the order of the file
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

// splitCells splits a line into cells. It does not split inside quotes, and drops the quotes.
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

// Number returns the number in a cell, written as people do: "1.2k", "1,2 kHz", "+3 dB",
// "−2,5". It returns an error, which names the line, if the cell is empty or not a number, or
// the number is outside low to high.
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

// ReadNumber reads a number, with or without a unit, written as people do; see [Row.Number].
// It reports whether text is one.
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
	if text == "" || strings.Trim(text, "0123456789.+-e") != "" {
		return 0, false
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, false
	}
	return x * scale, true
}

// Shape returns the shape in the column "shape": "low-shelf", "Low Shelf", "high_shelf". It
// returns an error, which names the line, for an unknown shape.
func (r Row) Shape() (biquad.Shape, error) {
	text := r.Cells["shape"]
	word := strings.Join(strings.FieldsFunc(strings.ToLower(text), func(c rune) bool { return c == ' ' || c == '-' || c == '_' }), "-")
	s, known := biquad.ParseShape(word)
	if !known {
		return 0, fmt.Errorf("line %d: there is no shape %q; low-shelf, bell and high-shelf are known", r.Line, text)
	}
	return s, nil
}
