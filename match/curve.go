package match

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
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// CurvePoint is a wanted gain at a frequency.
type CurvePoint struct{ FreqHz, GainDB float64 }

// maxCurvePoints bounds what ParseCurve reads. Our choice: a hundred times the
// finest curve anybody draws.
const maxCurvePoints = 100000

// ParseCurve reads lines "freq_hz,gain_db" in ascending order of frequency, with
// those words as the first line or without. Between the two may stand ; or a tab
// instead, and then a decimal comma in them. Blank lines and what follows # are passed
// over. It needs two points at least, between 1 Hz and 200 kHz and within ±60 dB. An
// error names the line.
func ParseCurve(r io.Reader) ([]CurvePoint, error) {
	var points []CurvePoint
	scan := bufio.NewScanner(measure.Text(r))
	for line := 1; scan.Scan(); line++ {
		text, _, _ := strings.Cut(scan.Text(), "#")
		text = strings.TrimSpace(text)
		if text == "" || len(points) == 0 && slices.Equal(cellsOf(text), []string{"freq_hz", "gain_db"}) {
			continue
		}
		cells := cellsOf(text)
		switch {
		case len(cells) > 2 && !strings.ContainsAny(text, ";\t"):
			return nil, fmt.Errorf("line %d has %d values, not freq_hz,gain_db; beside decimal commas put ; or a tab between the two", line, len(cells))
		case len(cells) != 2:
			return nil, fmt.Errorf("line %d has %d values, not freq_hz,gain_db", line, len(cells))
		}
		hz, err1 := strconv.ParseFloat(cells[0], 64)
		db, err2 := strconv.ParseFloat(cells[1], 64)
		switch {
		case err1 != nil || err2 != nil:
			return nil, fmt.Errorf("line %d holds something that is no number", line)
		case !(hz >= 1 && hz <= 200000):
			return nil, fmt.Errorf("line %d: %g Hz is not between 1 Hz and 200 kHz", line, hz)
		case !(math.Abs(db) <= 60):
			return nil, fmt.Errorf("line %d: %g dB is beyond ±60 dB", line, db)
		case len(points) > 0 && hz <= points[len(points)-1].FreqHz:
			return nil, fmt.Errorf("line %d: %g Hz does not come after %g Hz", line, hz, points[len(points)-1].FreqHz)
		case len(points) == maxCurvePoints:
			return nil, fmt.Errorf("there are more than %d points", maxCurvePoints)
		}
		points = append(points, CurvePoint{hz, db})
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

// cellsOf splits a line at ; or, without any, at tabs, else at commas.
func cellsOf(text string) []string {
	between := ","
	if strings.Contains(text, "\t") {
		between = "\t"
	}
	if strings.Contains(text, ";") {
		between = ";"
	}
	cells := strings.Split(text, between)
	for i, c := range cells {
		cells[i] = strings.TrimSpace(c)
		if between != "," {
			cells[i] = strings.Replace(cells[i], ",", ".", 1)
		}
	}
	return cells
}

// gainAt returns the curve at a frequency, straight over the logarithm of frequency
// between points; not ok outside them.
func gainAt(points []CurvePoint, hz float64) (db float64, ok bool) {
	last := len(points) - 1
	const slack = 1e-9 // an end that was printed and read again
	if hz < points[0].FreqHz*(1-slack) || hz > points[last].FreqHz*(1+slack) {
		return 0, false
	}
	i := 0
	for i < last-1 && points[i+1].FreqHz < hz {
		i++
	}
	a, b := points[i], points[i+1]
	share := math.Log(hz/a.FreqHz) / math.Log(b.FreqHz/a.FreqHz)
	return a.GainDB + share*(b.GainDB-a.GainDB), true
}

// FitCurve returns the moves that come nearest to a drawn curve on an equaliser at
// rateHz, 8 to 192 kHz. The curve is taken at the bands it covers, without
// smoothing; its level is made up by the trim. It refuses a curve that covers less
// than an octave of what is judged. It panics if an option fails its Check.
func FitCurve(points []CurvePoint, rateHz float64, o SolveOptions) (*Result, error) {
	if err := o.Check(); err != nil {
		panic("match: " + err.Error())
	}
	if !(rateHz >= 8000 && rateHz <= 192000) {
		return nil, fmt.Errorf("a sample rate of %g Hz is not between 8 and 192 kHz", rateHz)
	}
	c := &Comparison{RateHz: rateHz, Options: CompareOptions{
		SmoothOct: 1.0 / spectrum.BandsPerOctave, RangeHz: [2]float64{20, 20000},
	}}
	for b := range spectrum.BandCount {
		db, ok := gainAt(points, spectrum.CentreHz(b))
		var why Exclusion
		switch {
		case spectrum.EdgeHz(b+1) > rateShare*rateHz:
			why, db = Exclusion{Cause: RateOfCurve, Hz: rateHz}, math.NaN()
		case !ok:
			why, db = Exclusion{Cause: OutsideCurve}, math.NaN()
		}
		c.LeftOut = append(c.LeftOut, why)
		c.DifferenceDB = append(c.DifferenceDB, db)
	}
	c.judge(c.Options.SmoothOct)
	if c.judged.Count() < spectrum.BandsPerOctave {
		return nil, errors.New("the curve covers less than an octave of 20 Hz to 20 kHz")
	}
	c.DrawnDB = c.DifferenceDB
	r := &Result{Comparison: c, SolveOptions: o}
	a := c.Advise(o)
	var filters []biquad.Filter
	if r.Outlook = a.outlook(o.MaxMoves); r.Outlook == Advised {
		if filters = a.moves(o.MaxMoves); len(filters) == 0 {
			r.Outlook = NoneHelps
		}
	}
	response := c.response(filters)
	rest := make([]float64, len(response))
	for b, db := range response {
		rest[b] = o.TowardPercent/100*c.DifferenceDB[b] - db
	}
	r.TrimDB, _ = c.judged.Mean(rest, 0, math.Inf(1))
	r.setCurves(response, c.DifferenceDB, r.TrimDB)
	r.LevelDifferenceDB = math.NaN()
	r.setMoves(filters, c.target(o.Stage))
	r.Warnings = moveFindings(r.Moves)
	return r, nil
}
