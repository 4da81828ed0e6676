package probe

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"toneplumb/biquad"
	"toneplumb/match/table"
)

// Setting is one setting of the equaliser through which the probe is printed, as dialled.
type Setting struct {
	Number int
	Flat   bool // everything at 0 dB, the equaliser switched on
	Shape  biquad.Shape
	FreqHz float64
	GainDB float64

	// Width is the reading of the width or slope dial, whatever its unit; 0 without one. SlopeDB is
	// in dB per octave: what to set instead if a shelf's dial has that unit, or the slope of a cut;
	// 0 if the list gives none.
	Width, SlopeDB float64
}

// Plan returns the list of prints a person is asked for. Our choice: for each shape, two gains at
// one width show what frequency and width depend on, a second width shows whether there is a
// dial, and settings near the top show whether the response is squeezed there. One print besides
// the flat one is enough.
func Plan() []Setting {
	return []Setting{
		{Number: 1, Flat: true},
		{Number: 2, Shape: biquad.Bell, FreqHz: 1000, GainDB: 6, Width: 1},
		{Number: 3, Shape: biquad.Bell, FreqHz: 1000, GainDB: 12, Width: 1},
		{Number: 4, Shape: biquad.Bell, FreqHz: 250, GainDB: -6, Width: 2},
		{Number: 5, Shape: biquad.Bell, FreqHz: 10000, GainDB: 6, Width: 1},
		{Number: 6, Shape: biquad.LowShelf, FreqHz: 200, GainDB: 6, Width: 0.6, SlopeDB: 3},
		{Number: 7, Shape: biquad.LowShelf, FreqHz: 200, GainDB: 12, Width: 0.6, SlopeDB: 3},
		{Number: 8, Shape: biquad.LowShelf, FreqHz: 200, GainDB: -6, Width: 0.8, SlopeDB: 2},
		{Number: 9, Shape: biquad.HighShelf, FreqHz: 4000, GainDB: 6, Width: 0.6, SlopeDB: 3},
		{Number: 10, Shape: biquad.HighShelf, FreqHz: 4000, GainDB: 12, Width: 0.6, SlopeDB: 3},
		{Number: 11, Shape: biquad.HighShelf, FreqHz: 4000, GainDB: -6, Width: 0.8, SlopeDB: 2},
		{Number: 12, Shape: biquad.LowCut, FreqHz: 100, SlopeDB: 12},
		{Number: 13, Shape: biquad.HighCut, FreqHz: 8000, SlopeDB: 12},
	}
}

var lastNumber = regexp.MustCompile(`(\d+)\D*$`)

// NumberOf returns the number of a print from its file name: the last number in it, as in
// print-3.wav. It returns 0 if there is none.
func NumberOf(path string) int {
	name := strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
	if m := lastNumber.FindStringSubmatch(name); m != nil {
		if n, err := strconv.Atoi(m[1]); err == nil {
			return n
		}
	}
	return 0
}

// WritePlan writes the list as CSV for [ReadPlan], so that people can change settings their
// equaliser does not have.
func WritePlan(w io.Writer, all []Setting) error {
	rows := [][]string{{"print", "shape", "freq_hz", "gain_db", "width"}}
	for _, p := range all {
		number := strconv.Itoa(p.Number)
		plain := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
		switch {
		case p.Flat:
			rows = append(rows, []string{number, "flat", "", "", ""})
		case p.Shape.IsCut():
			rows = append(rows, []string{number, p.Shape.String(), plain(p.FreqHz), "", plain(p.SlopeDB)})
		default:
			rows = append(rows, []string{number, p.Shape.String(), plain(p.FreqHz), plain(p.GainDB), plain(p.Width)})
		}
	}
	return csv.NewWriter(w).WriteAll(rows)
}

// maxSettings bounds the list that ReadPlan accepts; our choice.
const maxSettings = 200

// ReadPlan reads a table with the columns print, shape, freq_hz, gain_db and width, as spreadsheets
// write it; see [table.Read]. An empty width means that there is no such dial. Errors name the
// line.
func ReadPlan(r io.Reader) ([]Setting, error) {
	rows, err := table.Read(r, []string{"print", "shape", "freq_hz", "gain_db", "width"})
	if err != nil {
		return nil, err
	}
	var all []Setting
	seen := map[int]bool{}
	for _, row := range rows {
		var p Setting
		n, err := row.Number("print", 1, 9999)
		if err != nil {
			return nil, err
		}
		if p.Number = int(n); float64(p.Number) != n || seen[p.Number] {
			return nil, fmt.Errorf("line %d: print %g is no whole number or stands twice", row.Line, n)
		}
		seen[p.Number] = true
		if len(all) == maxSettings {
			return nil, fmt.Errorf("there are more than %d prints", maxSettings)
		}
		if p.Flat = strings.EqualFold(row.Cells["shape"], "flat"); p.Flat {
			all = append(all, p)
			continue
		}
		if p.Shape, err = row.Shape(); err != nil {
			return nil, err
		}
		if p.FreqHz, err = row.Number("freq_hz", 10, 40000); err != nil {
			return nil, err
		}
		if !p.Shape.IsCut() {
			if p.GainDB, err = row.Number("gain_db", -24, 24); err != nil {
				return nil, err
			}
			if math.Abs(p.GainDB) < 1 {
				return nil, fmt.Errorf("line %d: gain_db %g is too little to learn from; 6 is a good one", row.Line, p.GainDB)
			}
		}
		if row.Cells["width"] != "" {
			if p.Width, err = row.Number("width", 0.01, 40000); err != nil {
				return nil, err
			}
		}
		if p.Shape.IsCut() {
			p.Width, p.SlopeDB = 0, p.Width
		}
		all = append(all, p)
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("there is no print in it")
	}
	return all, nil
}
