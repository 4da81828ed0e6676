package match

import (
	"errors"
	"fmt"
	"math"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/spectrum"
)

// gainAt returns the curve in dB at a frequency, interpolated linearly over the logarithm of
// frequency; ok is false outside the points.
func gainAt(points []document.CurvePoint, hz float64) (db float64, ok bool) {
	last := len(points) - 1
	const slack = 1e-9 // for ends that were printed and read again
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

// FitCurve returns the moves that come nearest to a drawn curve on an equaliser at rateHz,
// 8 to 192 kHz. The curve is sampled at the bands it covers, without smoothing; the trim
// makes up its level. The error says if the rate is out of range or the curve covers less
// than an octave of 20 Hz to 20 kHz. FitCurve panics if [SolveOptions.Check] fails.
func FitCurve(points []document.CurvePoint, rateHz float64, o SolveOptions) (*Result, error) {
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
		if filters = a.moves(o.MaxMoves).filters; len(filters) == 0 {
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
	r.Warnings = moveFindings(r.Moves, r.RateHz)
	return r, nil
}
