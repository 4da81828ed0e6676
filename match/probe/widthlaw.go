package probe

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
)

// lawConventions returns conventions in which the width is a function of the dial, the simplest
// first: a multiple of it; another multiple for cuts; a factor that grows with the gain; both. A
// law is tried only if the prints can determine it: more prints than parameters, cuts and boosts
// for the second, two gains for the third.
func lawConventions(all []*Measured, over float64) []Convention {
	var cuts, boosts int
	gains, widths := map[float64]bool{}, 0
	for _, s := range all {
		if s.GainDB < 0 {
			cuts++
		} else {
			boosts++
		}
		gains[math.Abs(s.GainDB)] = true
		if s.Width > 0 {
			widths++
		}
	}
	if widths < len(all) {
		return nil
	}
	terms, freqs := []fit.WidthTerm{fit.OwnWidth}, []fit.FreqTerm{fit.HalfGain}
	if all[0].Shape != biquad.Bell {
		terms, freqs = append(terms, fit.ShelfQ), append(freqs, fit.Corner)
	}
	is := make([]biquad.Filter, len(all))
	for i, s := range all {
		is[i] = s.refined(over)
	}
	var out []Convention
	for _, law := range []struct{ cut, power bool }{{false, false}, {true, false}, {false, true}, {true, true}} {
		numbers := len(lawRow(0, law.cut, law.power))
		if len(all) <= numbers || law.cut && (cuts == 0 || boosts == 0) || law.power && len(gains) < 2 {
			continue
		}
		for _, freq := range freqs {
			for _, term := range terms {
				if l, ok := lawOf(all, is, term, law.cut, law.power); ok {
					out = append(out, Convention{Stated: fit.DialTerms{Freq: freq, Width: term, Law: l}})
				}
			}
		}
	}
	return out
}

// lawOf fits a law by least squares on the logarithms of the measured widths.
func lawOf(all []*Measured, is []biquad.Filter, term fit.WidthTerm, cut, power bool) (l fit.WidthLaw, ok bool) {
	n := len(lawRow(0, cut, power))
	rows, widths := mat.NewDense(len(all), n, nil), mat.NewVecDense(len(all), nil)
	for i, s := range all {
		width := is[i].Q
		if s.Shape != biquad.Bell && term == fit.OwnWidth {
			width = biquad.SlopeFromQ(is[i].Q, is[i].GainDB)
		}
		if !(width > 0) {
			return l, false
		}
		rows.SetRow(i, lawRow(s.GainDB, cut, power))
		widths.SetVec(i, math.Log(width/s.Width))
	}
	var solution mat.VecDense
	if solution.SolveVec(rows, widths) != nil { // the prints do not determine them
		return l, false
	}
	b := solution.RawVector().Data
	l.Factor = tidyFactor(math.Exp(b[0]))
	if cut {
		l.CutFactor = tidyFactor(math.Exp(b[1]))
	}
	if power {
		l.GainPower = near(b[n-1], []float64{-2, -1.5, -1, -0.5, 0.5, 1, 1.5, 2}, 0.02)
	}
	for _, f := range []float64{l.Factor, l.CutFactor} {
		if f != 0 && (f < 0.1 || f > 10) {
			return l, false
		}
	}
	return l, math.Abs(l.GainPower) <= 4
}

// lawRow returns a row of the least squares at a gain: the coefficients of log Factor, of log
// CutFactor if cut, and of GainPower if power.
func lawRow(gainDB float64, cut, power bool) []float64 {
	row := []float64{1}
	if cut {
		isCut := 0.0
		if gainDB < 0 {
			isCut = 1
		}
		row = append(row, isCut)
	}
	if power {
		row = append(row, math.Abs(gainDB)/40*math.Ln10)
	}
	return row
}

// tidyFactor returns the simple number within 1 % of a factor, else the factor to three decimals.
func tidyFactor(x float64) float64 {
	return near(x, []float64{0.5, math.Sqrt2 / 2, 1, math.Sqrt2, 2}, 0.01*x)
}

func near(x float64, plain []float64, within float64) float64 {
	for _, p := range plain {
		if math.Abs(x-p) <= within {
			return math.Round(p*1e5) / 1e5
		}
	}
	return math.Round(x*1000) / 1000
}
