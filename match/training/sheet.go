package training

import (
	"fmt"
	"io"
	"math"

	"toneplumb/biquad"
	"toneplumb/match/table"
)

// WriteSheet writes the answer sheet of n renders: a CSV to fill in, with moves rows per render,
// the largest number of moves it may have.
func WriteSheet(w io.Writer, n, moves int) error {
	text := "render,shape,freq_hz,gain_db,q\n"
	for i := range n * moves {
		text += fmt.Sprintf("%d,,,,\n", i/moves+1)
	}
	_, err := io.WriteString(w, text)
	return err
}

// heardQ is the Q by which a bell without one is judged. Our choice: the middle of what is hidden.
const heardQ = 1.0

// AsJudged returns an answer with the Q by which it is judged: its own, or the usual one if that was left empty (0).
func AsJudged(f biquad.Filter) biquad.Filter {
	if f.Q == 0 {
		f.Q = heardQ
	}
	return f
}

func asJudged(moves []biquad.Filter) []biquad.Filter {
	all := make([]biquad.Filter, len(moves))
	for i, f := range moves {
		all[i] = AsJudged(f)
	}
	return all
}

// Limits of an answer on a sheet.
const (
	maxHeard   = 5 // moves a render
	maxHeardDB = 24
)

// ReadSheet reads a filled-in sheet as spreadsheets write it, see [table.Read]. It returns the moves
// heard in each of n renders. A row with only the number filled in means that nothing was heard; q
// may be left empty, and is 0 in a bell then, see [AsJudged]. Errors name the line.
func ReadSheet(r io.Reader, n int) ([][]biquad.Filter, error) {
	rows, err := table.Read(r, []string{"render", "shape", "freq_hz", "gain_db"})
	if err != nil {
		return nil, err
	}
	heard := make([][]biquad.Filter, n)
	for _, row := range rows {
		x, err := row.Number("render", 1, float64(n))
		if err != nil {
			return nil, err
		}
		i := int(x)
		if float64(i) != x {
			return nil, fmt.Errorf("line %d: render %g is no whole number", row.Line, x)
		}
		if row.Cells["shape"] == "" && row.Cells["freq_hz"] == "" && row.Cells["gain_db"] == "" {
			continue
		}
		var f biquad.Filter
		if f.Shape, err = row.Shape(); err != nil {
			return nil, err
		}
		if f.Shape.IsCut() {
			return nil, fmt.Errorf("line %d: there are no cuts in an exercise; low-shelf, bell and high-shelf are hidden", row.Line)
		}
		if f.FreqHz, err = row.Number("freq_hz", 20, 20000); err != nil {
			return nil, err
		}
		if f.GainDB, err = row.Number("gain_db", -maxHeardDB, maxHeardDB); err != nil {
			return nil, err
		}
		if f.Shape != biquad.Bell {
			f.Q = biquad.QFromSlope(shelfSlope, f.GainDB)
		}
		if row.Cells["q"] != "" {
			if f.Q, err = row.Number("q", 0.1, 20); err != nil {
				return nil, err
			}
		}
		if math.Abs(f.GainDB) < leastHeardDB {
			continue
		}
		if len(heard[i-1]) == maxHeard {
			return nil, fmt.Errorf("line %d: more than %d moves in render %d", row.Line, maxHeard, i)
		}
		heard[i-1] = append(heard[i-1], f)
	}
	return heard, nil
}
