// Package forms writes a [tracks.Advice] as a chart, a page, a table, a document or text.
// Package match/artefact lists these forms.
package forms

import (
	"fmt"
	"math"
	"slices"

	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/match/tracks"
	"toneplumb/match/words"
	"toneplumb/plots"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// darkest is the shade of a whole zone's share. Our choice: darker cells have black letters at little more
// than the contrast of 4.5 that WCAG 2.1 asks for, which is hard to read in small type.
const darkest = 0.6

// Chart draws the tracks' shares of the zones as shaded cells, above the effect of each move on
// the master and on a track, or of the plan.
func Chart(a *tracks.Advice) *plots.Figure {
	f := &plots.Figure{
		Title: "Which track carries what",
		Grid:  plots.Grid{Title: "share of each zone of the mix, in percent"},
	}
	line := func(who string, r *measure.Recording) {
		if name := report.NameBeside(who, r); name != "" {
			f.Lines = append(f.Lines, who+": "+report.LineName(name))
		}
	}
	line("mix", a.Result.Mix)
	for i, ref := range a.Result.References {
		line(match.ReferenceLabel(i, len(a.Result.References)), ref)
	}
	const mostLines, mostRows = 3, 40
	f.Lines = report.FirstOf(f.Lines, mostLines, "and %d more references")
	names, rest := zoneCells(a)
	none := plots.GridRow{Name: "no track", Text: rest}
	for _, z := range a.Zones {
		none.Shade = append(none.Shade, darkest*z.RestShare)
	}
	f.Grid.Columns, f.Zones = names, report.ChartZones()
	for i, t := range a.Tracks {
		if i == mostRows {
			f.Footnotes = append(f.Footnotes, fmt.Sprintf("and %d more tracks, not shown here", len(a.Tracks)-mostRows))
			break
		}
		var shades []float64
		for _, share := range t.ShareOfZones {
			shades = append(shades, darkest*share)
		}
		f.Grid.Rows = append(f.Grid.Rows, plots.GridRow{Name: report.Printable(t.Name), Text: shareCells(t), Shade: shades})
	}
	f.Grid.Rows = append(f.Grid.Rows, none)
	const mostNotes = 3
	f.Footnotes = append(f.Footnotes, report.FirstOf(warnings(a), mostNotes, "and %d more remarks, not shown here")...)
	f.Panels = effectPanels(a)
	f.Table = tracksTable(a)
	// As wide as any chart and as high as its rows need.
	f.WidthPx, f.HeightPx = plots.DefaultWidthPx, max(plots.DefaultHeightPx, headPx+restPx+rowPx*(len(f.Grid.Rows)+2*len(f.Table.Rows)+2*len(f.Footnotes))+panelPx*len(f.Panels))
	return f
}

// Paper is the picture on a page of paper, A4 or letter, if it is no higher than that.
func Paper(a *tracks.Advice, letter bool) *plots.Figure {
	f, page := Chart(a), report.HandoutOptions{Letter: letter}.Paper()
	if f.HeightPx <= page.HeightPx {
		f.DPI, f.Paper, f.WidthPx, f.HeightPx = page.DPI, page.Paper, page.WidthPx, page.HeightPx
	}
	return f
}

// Heights in pixels: a row of cells or text, a panel, title and lines, the rest. Our choice, by
// eye.
const rowPx, panelPx, headPx, restPx = 32, 200, 130, 290

// effectPanels draw the effect of each move on the mix, one under another at one scale. They draw
// the plan instead if there is a firm one, and the difference if there is nothing to do.
func effectPanels(a *tracks.Advice) []plots.Panel {
	hz := spectrum.Centres()
	if a.PlanReplacesMoves() {
		return []plots.Panel{{Title: "reference minus mix, and what the plan does to the mix, ignoring level", YLabel: "dB", ZeroLine: true, MinSpanDB: 6,
			Curves: []plots.Curve{
				{Name: "difference", FreqHz: hz, DB: a.Result.DifferenceDB, Style: plots.Style{Colour: plots.Black}},
				{Name: "the plan", FreqHz: hz, DB: a.Plan.ShownDB, Style: plots.Style{Colour: plots.Vermillion, Dash: plots.Dashed}}}}}
	}
	if len(a.Moves) == 0 {
		return []plots.Panel{{Title: "what the reference has more (+) or less (−)", YLabel: "dB", ZeroLine: true, MinSpanDB: 6,
			Curves: []plots.Curve{{Name: "", FreqHz: hz, DB: a.Result.DifferenceDB, Style: plots.Style{Colour: plots.Black}}}}}
	}
	low, high := -2.0, 2.0 // dB, so that a small move looks small; our choice
	for _, m := range a.Moves {
		curves := [][]float64{m.ShownDB}
		if m.Instead != nil {
			curves = append(curves, m.Instead.ShownDB)
		}
		for _, db := range slices.Concat(curves...) {
			if !math.IsNaN(db) {
				low, high = min(low, db), max(high, db)
			}
		}
	}
	const stepDB = 2
	low, high = stepDB*math.Floor(low/stepDB), stepDB*math.Ceil(high/stepDB)
	var all []plots.Panel
	for i, m := range a.Moves {
		p := plots.Panel{Title: fmt.Sprintf("what move %d changes in the mix: %s", i+1, words.Setting(m.Filter)), YLabel: "dB", ZeroLine: true, YMinDB: low, YMaxDB: high}
		if m.Instead != nil {
			p.Curves = append(p.Curves, plots.Curve{Name: "on " + briefNames(a, m.Instead.Tracks), FreqHz: hz, DB: m.Instead.ShownDB, Style: plots.Style{Colour: plots.Vermillion, Dash: plots.Dashed}})
		}
		p.Curves = append(p.Curves, plots.Curve{Name: "on the master", FreqHz: hz, DB: m.ShownDB, Style: plots.Style{Colour: plots.Black}})
		p.Marks = []plots.Mark{{FreqHz: m.Filter.FreqHz, Label: fmt.Sprint(i + 1)}}
		all = append(all, p)
	}
	return all
}

// briefNames returns names short enough for four in a line.
func briefNames(a *tracks.Advice, all []int) string {
	const nameCells = 24
	var names []string
	for _, i := range all {
		names = append(names, report.Shorten(report.Printable(a.Tracks[i].Name), nameCells))
	}
	return words.List(names)
}

func tracksTable(a *tracks.Advice) plots.Table {
	if a.PlanReplacesMoves() {
		t := plots.Table{Header: []string{"", words.PlanHeading(a)}, Align: []plots.Align{plots.Right, plots.Left}}
		for i, step := range words.PlanSteps(a) {
			t.Rows = append(t.Rows, []string{fmt.Sprint(i + 1), step})
		}
		return t
	}
	t := plots.Table{Header: []string{"", "on the master", "on the track instead", "trim there, dB", "curves apart"},
		Align: []plots.Align{plots.Right, plots.Left, plots.Left, plots.Right, plots.Left}, Instead: words.NoMasterMoves(a)}
	for i, m := range a.Moves {
		row := []string{fmt.Sprint(i + 1), words.Setting(m.Filter), words.Instead(m), "", ""}
		if x := m.Instead; x != nil {
			row[3], row[4] = words.Trims(x), fmt.Sprintf("%.1f dB", x.ApartDB)
		}
		t.Rows, t.Under = append(t.Rows, row), append(t.Under, words.Belongs(a, m, briefNames))
	}
	return t
}
