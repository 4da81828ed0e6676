package papers

import (
	"fmt"
	"io"

	"toneplumb/biquad"
	"toneplumb/match/report"
	"toneplumb/match/training"
	"toneplumb/match/words"
	"toneplumb/plots"
	"toneplumb/spectrum"
)

// rowsOfSheet is the number of rows to fill in per page: divisible by one, two and three rows per
// render.
const rowsOfSheet = 12

// WriteSheet writes the sheet to fill in with a pen as a PDF, on as many pages as its rows need.
// called is the name given to the mix; the paper is A4, or US letter.
func WriteSheet(w io.Writer, a *training.Answers, called string, letter bool) error {
	return plots.WritePDF(w, sheetPages(a, called, letter)...)
}

func sheetPages(a *training.Answers, called string, letter bool) []*plots.Figure {
	most := a.Rules.MostMoves
	perPage := rowsOfSheet / most
	pages := (len(a.Tasks) + perPage - 1) / perPage
	var all []*plots.Figure
	for p := range pages {
		f := report.HandoutOptions{Letter: letter}.Paper()
		f.Title = "What has the equaliser done?"
		f.Lines = []string{report.NameLine, fmt.Sprintf("excerpt of %s, %d renders, %s", report.LineName(called), len(a.Tasks), a.Rules.Name)}
		if pages > 1 {
			f.Lines[1] += fmt.Sprintf(" · page %d of %d", p+1, pages)
		}
		f.Panels = []plots.Panel{shapesPanel(float64(a.RateHz))}
		f.Zones = report.ChartZones()
		f.Table = plots.Table{ToFill: true, Header: []string{"render", "shape", "frequency", "gain with its sign", "Q", "remarks"}, Align: []plots.Align{plots.Right}}
		for i := p * perPage; i < min((p+1)*perPage, len(a.Tasks)); i++ {
			number := fmt.Sprint(i + 1)
			for range most {
				f.Table.Rows = append(f.Table.Rows, report.RowToFill(number))
				number = ""
			}
		}
		f.Paragraphs = []plots.Paragraph{
			{Heading: "Your task", Text: []string{fmt.Sprintf("Plain is the excerpt as it is. Each render has gone through %s of one equaliser: a low shelf, a bell or a high shelf, up or down. "+
				"All are equally loud, so go by tone; switch between plain and render as often as you like. Write down the shape, the frequency, the gain with its sign and, if you can tell, Q (of a shelf: how steep it is). %s", words.HiddenMoves(a.Rules), shelvesAlike), words.Audible(a.Rules)}},
			{Heading: "Listen", Text: []string{words.Listening}},
		}
		all = append(all, f)
	}
	return all
}

// heardHz returns the frequencies at which curves are drawn.
func heardHz(rateHz float64) []float64 {
	var hz []float64
	for _, f := range spectrum.Centres() {
		if f < 0.45*rateHz {
			hz = append(hz, f)
		}
	}
	return hz
}

// shapesPanel shows an example of each shape that may be hidden.
func shapesPanel(rateHz float64) plots.Panel {
	hz := heardHz(rateHz)
	p := plots.Panel{Title: "shapes, to compare with", YLabel: "dB", YMinDB: -6, YMaxDB: 6, ZeroLine: true}
	for _, c := range []struct {
		f     biquad.Filter
		style plots.Style
	}{
		{biquad.Filter{Shape: biquad.LowShelf, FreqHz: 125, GainDB: 5, Q: biquad.QFromSlope(0.7, 5)}, plots.Style{Colour: plots.Blue, Dash: plots.Dashed}},
		{biquad.Filter{Shape: biquad.Bell, FreqHz: 1000, GainDB: -5, Q: 1}, plots.Style{Colour: plots.Black}},
		{biquad.Filter{Shape: biquad.HighShelf, FreqHz: 5000, GainDB: 5, Q: biquad.QFromSlope(0.7, 5)}, plots.Style{Colour: plots.Blue}},
	} {
		if c.f.Check(rateHz) == nil {
			p.Curves = append(p.Curves, plots.Curve{Name: words.Answer(c.f), FreqHz: hz, DB: biquad.ResponseDB(nil, []biquad.Filter{c.f}, hz, rateHz), Style: c.style})
		}
	}
	return p
}
