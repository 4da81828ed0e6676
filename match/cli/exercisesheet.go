package cli

import (
	"fmt"
	"io"
	"strings"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/training"
	"toneplumb/plots"
	"toneplumb/spectrum"
)

// rowsOfSheet is how many rows to fill in a page of the sheet has: a number that one, two
// and three rows a render go into.
const rowsOfSheet = 12

// movesWords says how many moves a level hides in a render at most, and in words.
func movesWords(l training.Level) (most int, words string) {
	switch l {
	case training.Easy:
		return 1, "one move"
	case training.Medium:
		return 2, "one or two moves"
	}
	return 3, "one to three moves"
}

// writeSheetPDF writes the sheet that is filled in with a pen, on as many pages as its
// rows need.
func writeSheetPDF(w io.Writer, x exercise, letter bool) error {
	return plots.WritePDF(w, sheetPages(x, letter)...)
}

func sheetPages(x exercise, letter bool) []*plots.Figure {
	a := x.Answers
	most, words := movesWords(a.Level)
	perPage := rowsOfSheet / most
	pages := (len(a.Tasks) + perPage - 1) / perPage
	var all []*plots.Figure
	for p := range pages {
		f := sheetPaper(letter)
		f.Title = "What has the equaliser done?"
		f.Lines = []string{"name and date: " + strings.Repeat("_", 50), fmt.Sprintf("excerpt of %s, %d renders, %s", x.called, len(a.Tasks), a.Level)}
		if pages > 1 {
			f.Lines[1] += fmt.Sprintf(" · page %d of %d", p+1, pages)
		}
		f.Panels = []plots.Panel{shapesPanel(float64(a.RateHz))}
		for _, z := range match.Zones() {
			f.Zones = append(f.Zones, plots.Zone{Name: z.Name, FromHz: z.LowHz, ToHz: z.HighHz})
		}
		// Cells but the first are only measures of the room.
		f.Table = plots.Table{ToFill: true, Header: []string{"render", "shape", "frequency", "gain with its sign", "Q or width", "remarks"}, Align: []plots.Align{plots.Right}}
		for i := p * perPage; i < min((p+1)*perPage, len(a.Tasks)); i++ {
			number := fmt.Sprint(i + 1)
			for range most {
				f.Table.Rows = append(f.Table.Rows, []string{number, "a high shelf it is", "12.5 kilohertz", "+2.5 decibels", "so many octaves", ""})
				number = ""
			}
		}
		f.Paragraphs = []plots.Paragraph{
			{Heading: "Your part", Text: []string{fmt.Sprintf("Plain is the excerpt as it is. Each render has gone through %s of one equaliser: a low shelf, a bell or a high shelf, up or down. "+
				"All are equally loud, so go by tone; switch between plain and render as often as you like. Write down the shape, the frequency, the gain with its sign and, if you can tell, Q.", words)}},
			{Heading: "Listen", Text: []string{"Start quietly, stay at one modest setting of the monitors, and rest between renders. Safe for the ears are 80 dB(A) for 40 hours a week (ITU-T H.870, WHO)."}},
		}
		all = append(all, f)
	}
	return all
}

// sheetPaper is an empty page, upright.
func sheetPaper(letter bool) *plots.Figure {
	f := &plots.Figure{DPI: plots.DefaultDPI, Paper: true, WidthPx: 1240, HeightPx: 1754} // A4, ISO 216
	if letter {
		f.WidthPx, f.HeightPx = 1275, 1650 // 8.5 × 11 inches
	}
	return f
}

// shapesPanel shows what may be hidden: a shelf or a bell of each kind, and where.
func shapesPanel(rateHz float64) plots.Panel {
	var hz []float64
	for _, f := range spectrum.Centres() {
		if f < 0.45*rateHz {
			hz = append(hz, f)
		}
	}
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
			p.Curves = append(p.Curves, plots.Curve{Name: moveWords(c.f), FreqHz: hz, DB: biquad.ResponseDB(nil, []biquad.Filter{c.f}, hz, rateHz), Style: c.style})
		}
	}
	return p
}
