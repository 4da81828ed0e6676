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

// Print is one setting through which the probe is printed, as the dials show it.
type Setting struct {
	Number int
	Flat   bool // everything at 0 dB, the equaliser switched on
	Shape  biquad.Shape
	FreqHz float64
	GainDB float64

	// Width is what stands at the width or slope dial, whatever that counts; 0 where
	// there is none. SlopeDB is what to set instead where the dial of a shelf counts dB
	// per octave, or of a cut, 0 if the list asks for none.
	Width, SlopeDB float64
}

// Prints is the list a person is asked for. Our choice: of each shape two gains at one
// width tell what frequency and width depend on, a second width whether there is a dial,
// and settings near the top whether the response is squeezed there. Any of them but one
// may be left out.
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

// NumberOf reads which print a file is from its name: the last number in it, as in
// print-3.wav. 0 if there is none.
func NumberOf(path string) int {
	name := strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
	m := lastNumber.FindStringSubmatch(name)
	if m == nil {
		return 0
	}
	n, err := strconv.Atoi(m[1])
	if err != nil {
		return 0
	}
	return n
}

// WritePlan writes the list as CSV that ReadPlan reads, for those whose equaliser
// has no such settings: they change the numbers.
func WritePlan(w io.Writer, all []Setting) error {
	out := csv.NewWriter(w)
	out.Write([]string{"print", "shape", "freq_hz", "gain_db", "width"})
	for _, p := range all {
		number := strconv.Itoa(p.Number)
		plain := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
		switch {
		case p.Flat:
			out.Write([]string{number, "flat", "", "", ""})
		case p.Shape.IsCut():
			out.Write([]string{number, p.Shape.String(), plain(p.FreqHz), "", plain(p.SlopeDB)})
		default:
			out.Write([]string{number, p.Shape.String(), plain(p.FreqHz), plain(p.GainDB), plain(p.Width)})
		}
	}
	out.Flush()
	return out.Error()
}

// maxSettings bounds what ReadPlan takes; our choice.
const maxSettings = 200

// ReadPlan reads print,shape,freq_hz,gain_db,width, as people's programs write it:
// see [table.Read]. A width that is left empty says that there is no such dial. An error
// names the line.
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
