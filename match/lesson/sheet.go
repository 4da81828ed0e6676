package lesson

import (
	"fmt"
	"io"
	"math"

	"toneplumb/biquad"
)

// WriteSheet writes the answer sheet of n renders: a CSV to fill in.
func WriteSheet(w io.Writer, n int) error {
	if _, err := fmt.Fprint(w, "render,shape,freq_hz,gain_db,q\n"); err != nil {
		return err
	}
	for i := 1; i <= n; i++ {
		if _, err := fmt.Fprintf(w, "%d,,,,\n", i); err != nil {
			return err
		}
	}
	return nil
}

// Widths of what was heard where none is written. Our choice: the middle of what is
// hidden.
const heardQ = 1.0

// Limits of what a sheet may say.
const (
	maxHeard   = 5 // moves a render
	maxHeardDB = 24
)

// ReadSheet reads a filled-in sheet, as people's programs write it: see readTable. It
// returns what was heard in each of n renders; a row of which only the number is filled
// in says that nothing was heard, and q may be left out. An error names the line.
func ReadSheet(r io.Reader, n int) ([][]biquad.Filter, error) {
	rows, err := readTable(r, []string{"render", "shape", "freq_hz", "gain_db"})
	if err != nil {
		return nil, err
	}
	heard := make([][]biquad.Filter, n)
	for _, row := range rows {
		x, err := row.number("render", 1, float64(n))
		if err != nil {
			return nil, err
		}
		i := int(x)
		if float64(i) != x {
			return nil, fmt.Errorf("line %d: render %g is no whole number", row.line, x)
		}
		if row.cells["shape"] == "" && row.cells["freq_hz"] == "" && row.cells["gain_db"] == "" {
			continue
		}
		var f biquad.Filter
		if f.Shape, err = row.shape(); err != nil {
			return nil, err
		}
		if f.Shape.IsCut() {
			return nil, fmt.Errorf("line %d: there are no cuts in an exercise; low-shelf, bell and high-shelf are hidden", row.line)
		}
		if f.FreqHz, err = row.number("freq_hz", 20, 20000); err != nil {
			return nil, err
		}
		if f.GainDB, err = row.number("gain_db", -maxHeardDB, maxHeardDB); err != nil {
			return nil, err
		}
		f.Q = heardQ
		if f.Shape != biquad.Bell {
			f.Q = biquad.QFromSlope(shelfSlope, f.GainDB)
		}
		if row.cells["q"] != "" {
			if f.Q, err = row.number("q", 0.1, 20); err != nil {
				return nil, err
			}
		}
		if math.Abs(f.GainDB) < 0.05 {
			continue // 0 dB is nothing
		}
		if len(heard[i-1]) == maxHeard {
			return nil, fmt.Errorf("line %d: more than %d moves in render %d", row.line, maxHeard, i)
		}
		heard[i-1] = append(heard[i-1], f)
	}
	return heard, nil
}
