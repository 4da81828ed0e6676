package document

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"toneplumb/spectrum/measure"
)

// CurvePoint is a wanted gain at a frequency.
type CurvePoint struct{ FreqHz, GainDB float64 }

// maxCurvePoints is the largest number of points that ParseCurve accepts. Our choice: a hundred
// times the finest curve anybody draws.
const maxCurvePoints = 100000

// ParseCurve reads lines "freq_hz,gain_db" in ascending order of frequency. The first line may
// name the columns. There may be further columns then; it ignores those, and lines without a
// gain, so it reads the curves that match writes. Cells may be separated by ; or a tab instead
// of a comma, and may have a decimal comma then. Blank lines and text after # are ignored.
// It needs at least two points, between 1 Hz and 200 kHz and within ±60 dB. An error about a
// line gives its number.
func ParseCurve(r io.Reader) ([]CurvePoint, error) {
	var points []CurvePoint
	columns := curveColumns{freq: 0, gain: 1}
	scan := bufio.NewScanner(measure.Text(r))
	for line := 1; scan.Scan(); line++ {
		text, _, _ := strings.Cut(scan.Text(), "#")
		text = strings.TrimSpace(text)
		if text == "" || len(points) == 0 && columns.named(text) {
			continue
		}
		p, blank, err := columns.point(text)
		switch {
		case err != nil:
			return nil, fmt.Errorf("line %d %w", line, err)
		case blank:
			continue
		case !(p.FreqHz >= 1 && p.FreqHz <= 200000):
			return nil, fmt.Errorf("line %d: %g Hz is not between 1 Hz and 200 kHz", line, p.FreqHz)
		case !(math.Abs(p.GainDB) <= 60):
			return nil, fmt.Errorf("line %d: %g dB is beyond ±60 dB", line, p.GainDB)
		case len(points) > 0 && p.FreqHz <= points[len(points)-1].FreqHz:
			return nil, fmt.Errorf("line %d: %g Hz does not come after %g Hz", line, p.FreqHz, points[len(points)-1].FreqHz)
		case len(points) == maxCurvePoints:
			return nil, fmt.Errorf("there are more than %d points", maxCurvePoints)
		}
		points = append(points, p)
	}
	if err := scan.Err(); err != nil {
		if errors.Is(err, bufio.ErrTooLong) {
			return nil, errors.New("a line is too long")
		}
		return nil, err
	}
	if len(points) < 2 {
		return nil, fmt.Errorf("two points at least are needed, and there are not as many")
	}
	return points, nil
}

// curveColumns says where a line has its frequency and gain.
type curveColumns struct {
	freq, gain int    // indices
	between    string // separator, if the first line determines it
	others     bool   // there are further columns
}

// named reports whether a line names the columns, and if so sets c by it.
func (c *curveColumns) named(text string) bool {
	between := separatorOf(text)
	cells := cellsOf(text, between)
	freq, gain := slices.Index(cells, "freq_hz"), slices.Index(cells, "gain_db")
	if freq < 0 || gain < 0 {
		return false
	}
	*c = curveColumns{freq: freq, gain: gain, others: len(cells) > 2}
	if c.others {
		c.between = between
	}
	return true
}

// point reads a line; blank is true if columns are named and the line has no gain.
func (c *curveColumns) point(text string) (p CurvePoint, blank bool, err error) {
	between := c.between
	if between == "" {
		between = separatorOf(text)
	}
	cells := cellsOf(text, between)
	switch {
	case c.others && len(cells) <= max(c.freq, c.gain):
		return p, false, fmt.Errorf("has %d values, fewer than the first line names", len(cells))
	case c.others && cells[c.gain] == "":
		return p, true, nil
	case !c.others && len(cells) > 2 && between == ",":
		return p, false, fmt.Errorf("has %d values, not freq_hz,gain_db; beside decimal commas put ; or a tab between the two", len(cells))
	case !c.others && len(cells) != 2:
		return p, false, fmt.Errorf("must hold two values, freq_hz,gain_db, not %d", len(cells))
	}
	var err1, err2 error
	p.FreqHz, err1 = strconv.ParseFloat(cells[c.freq], 64)
	p.GainDB, err2 = strconv.ParseFloat(cells[c.gain], 64)
	if err1 != nil || err2 != nil {
		return p, false, errors.New("holds something that is no number")
	}
	return p, false, nil
}

// separatorOf returns ; or a tab if the line contains one, else a comma.
func separatorOf(text string) string {
	for _, between := range []string{";", "\t"} {
		if strings.Contains(text, between) {
			return between
		}
	}
	return ","
}

// cellsOf splits a line. If the separator is not a comma, cells may have decimal commas.
func cellsOf(text, between string) []string {
	cells := strings.Split(text, between)
	for i, c := range cells {
		cells[i] = strings.TrimSpace(c)
		if between != "," {
			cells[i] = strings.Replace(cells[i], ",", ".", 1)
		}
	}
	return cells
}
