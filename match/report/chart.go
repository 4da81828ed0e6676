package report

import (
	"fmt"
	"math"
	"slices"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/plots"
	"toneplumb/spectrum"
	"toneplumb/spectrum/finding"
)

// ChartOptions say how to draw a chart. The zero value is 1350×990 pixels at 150 DPI on
// white paper.
type ChartOptions struct {
	WidthPx, HeightPx int     // see plots.Figure
	DPI               float64 // see plots.Figure
	Dark              bool    // light lines on dark paper
	Bare              bool    // only the panels, for a page that has title, table and remarks itself
	Steady            bool    // see plots.Figure
}

// Check returns an error if no chart can have this size.
func (l ChartOptions) Check() error {
	f := plots.Figure{WidthPx: l.WidthPx, HeightPx: l.HeightPx, DPI: l.DPI, Steady: l.Steady}
	return f.CheckSize()
}

// Chart draws the result. The size must pass [ChartOptions.Check].
func Chart(r *match.Result, look ChartOptions) *plots.Figure {
	f := &plots.Figure{
		WidthPx: look.WidthPx, HeightPx: look.HeightPx, DPI: look.DPI, Dark: look.Dark, Steady: look.Steady,
		Title:   Headline(r),
		Shorter: shorterHeadlines(r),
		Table:   table(r),
		Panels:  []plots.Panel{differences(r)},
		Zones:   ChartZones(),
	}
	if r.Mix != nil && !look.compact() {
		both := spectra(r)
		both.Yields = !look.Bare
		f.Panels = slices.Insert(f.Panels, 0, both)
	}
	const mostLines = 4 // leave room for the panels; three references are usual
	f.Lines = recordingNotes(namedOf(r), mostLines)
	warnings := r.Warnings
	if swapped := slices.IndexFunc(warnings, func(w finding.Finding) bool { _, is := w.(match.Swapped); return is }); swapped >= 0 {
		first := words.Findings(warnings[swapped : swapped+1]) // not in small print
		f.Lines = append(first, recordingNotes(namedOf(r), mostLines-1)...)
		warnings = slices.Delete(slices.Clone(warnings), swapped, swapped+1)
	}
	f.Lines = append(f.Lines, equaliserLine(r)...)
	const mostNotes = 5 // leave room for the panels
	f.Footnotes = bulleted(thatFit(Remarks(warnings), codes(warnings), mostNotes, look.noteCells(), true))
	for _, text := range []string{columns(r), OtherChoices(r)} { // a picture may be all that somebody gets
		if text != "" {
			f.Footnotes = append(f.Footnotes, text)
		}
	}
	keepAllUnits(f.Footnotes)
	if look.Bare {
		f.Title, f.Lines, f.Table, f.Footnotes = "", nil, plots.Table{}, nil
	}
	return f
}

// ChartZones returns the zones as a figure marks them.
func ChartZones() []plots.Zone {
	var all []plots.Zone
	for _, z := range match.Zones() {
		all = append(all, plots.Zone{Name: z.Name, FromHz: z.LowHz, ToHz: z.HighHz})
	}
	return all
}

// compactPx is the width below which a chart is for a small place. It shows only what to do and
// omits the two spectra, rather than shrink both panels. Our choice.
const compactPx = 900

// compact reports whether the chart is for a small place. A bare one is part of a page.
func (l ChartOptions) compact() bool { return l.WidthPx > 0 && l.WidthPx < compactPx && !l.Bare }

func spectra(r *match.Result) plots.Panel {
	hz := spectrum.Centres()
	reference := "reference"
	if len(r.References) > 1 {
		reference = fmt.Sprintf("mean of %d references", len(r.References))
	}
	p := plots.Panel{
		Title:  "level per band, mean removed; pink noise is flat",
		YLabel: "dB",
		Share:  0.8,
		Curves: []plots.Curve{
			{Name: reference, FreqHz: hz, DB: r.ReferenceDB, Style: plots.Style{Colour: plots.Blue, Dash: plots.Dashed}},
			{Name: ofMix(r, "mix"), FreqHz: hz, DB: r.MixDB, Style: plots.Style{Colour: plots.Black, Weight: plots.Strong}},
		},
		MinSpanDB: 20,
	}
	if before, is := previous(r); is {
		p = withEarlier(p, before, 1, 1)
	}
	return p
}

// DifferenceTitle is the title of the panel that shows what to do.
func DifferenceTitle(references int) string {
	return words.Plural(references, "what to do: reference minus mix, level ignored", "what to do: references minus mix, level ignored")
}

func differences(r *match.Result) plots.Panel {
	hz := spectrum.Centres()
	p := plots.Panel{
		Title:     DifferenceTitle(len(r.References)),
		YLabel:    "dB",
		ZeroLine:  true,
		MinSpanDB: 8,
		LeftOut:   leftOutSpans(r),
		Intervals: intervals(r),

		LeastUnitsPerDB: unitsPerDB,
	}
	if r.Mix == nil {
		p.Title = "gain over frequency"
	}
	p.Curves = append(p.Curves, plots.Curve{Name: differenceName(r), FreqHz: hz, DB: drawnDifference(r),
		Style: plots.Style{Colour: plots.Black, Weight: plots.Strong}})
	if before, is := previous(r); is {
		p = withEarlier(p, before, 0, -1)
		if before.Use == match.Held {
			p.Title = words.Plural(len(r.References), "what is left: reference minus mix, level ignored", "what is left: references minus mix, level ignored")
			p.Intervals = nil // they are about the difference without the moves
			return p
		}
	}
	return withMoves(p, r)
}

// TargetName returns what the legend calls the target, which is not that share of the drawn difference unless all of it
// is followed.
func TargetName(r *match.Result) string {
	of := words.Either(followsAll(r), "the difference", "what is clearly tonal")
	return fmt.Sprintf("target, %.0f %% of %s", r.SolveOptions.TowardPercent, of)
}

func withMoves(p plots.Panel, r *match.Result) plots.Panel {
	hz := spectrum.Centres()
	if r.SolveOptions.TowardPercent > 0 && r.Mix != nil && len(r.Moves) > 0 { // without moves a target asks for what is not advised
		p.Curves = append(p.Curves, plots.Curve{Name: TargetName(r), FreqHz: hz, DB: r.TargetDB, Whole: true,
			Style: plots.Style{Colour: plots.Vermillion, Dash: plots.Dotted}})
	}
	for i, m := range r.Moves {
		p.Marks = append(p.Marks, plots.Mark{FreqHz: m.FreqHz, Label: fmt.Sprint(i + 1)})
		name := ""
		switch {
		case len(r.Moves) == 1: // the curve of all moves is the same
			continue
		case i == 0:
			name = "each move"
		}
		p.Curves = append(p.Curves, plots.Curve{Name: name, FreqHz: hz, DB: working(biquad.ResponseDB(nil, []biquad.Filter{m.Filter}, hz, r.RateHz)), Whole: true,
			Style: plots.Style{Colour: plots.Grey, Weight: plots.Thin, Cased: true}})
	}
	if len(r.Moves) > 0 {
		name := "all moves"
		if len(r.Moves) == 1 {
			name = "the move"
		}
		p.Curves = append(p.Curves, plots.Curve{Name: name, FreqHz: hz, DB: r.FittedDB, Whole: true,
			Style: plots.Style{Colour: plots.BluishGreen, Dash: plots.DashDot, Weight: plots.Strong, Cased: true}})
	}
	return p
}

// working removes the parts of a move's curve near 0 dB in place, where they would only hide
// the difference.
func working(db []float64) []float64 {
	const leastDB = 0.15 // our choice: two pixels on the default chart
	for b, gain := range db {
		if math.Abs(gain) < leastDB {
			db[b] = math.NaN()
		}
	}
	return db
}

// unitsPerDB makes a move of 3 dB at least 24 pixels high on the default chart. Our choice: at 40
// pixels the differences of most real pairs left the axis, and their figures crowded there.
const unitsPerDB = 24.0 / 3

func drawnDifference(r *match.Result) []float64 {
	if r.DrawnDB == nil {
		return r.DifferenceDB
	}
	return r.DrawnDB
}

// differenceName returns what the legend calls the difference.
func differenceName(r *match.Result) string {
	if r.Mix == nil {
		return "curve"
	}
	return ofMix(r, "difference")
}

// ofMix returns a curve's name; if the moves that the mix was bounced through are replaced, with the
// remark that the curve is without them.
func ofMix(r *match.Result, name string) string {
	if held(r) {
		return name
	}
	return WithoutMoves(r, name)
}

// intervals returns the likely range of the difference and, for several references, the range of
// other references like them.
func intervals(r *match.Result) []plots.Interval {
	if r.LowDB == nil {
		return nil
	}
	hz := spectrum.Centres()
	songs := otherSongs
	switch {
	case oneSong(r) && len(r.References) == 1:
		songs = "same song in both"
	case oneSong(r):
		songs = "same song in all"
	}
	all := []plots.Interval{{Name: "likely range " + measurement(r) + "; " + songs, FreqHz: hz,
		LowDB: r.LowDB, HighDB: r.HighDB, Kind: plots.Fill, Colour: plots.SkyBlue}}
	if r.ReferenceSpreadDB != nil {
		low, high := make([]float64, len(hz)), make([]float64, len(hz))
		for b, half := range r.ReferenceSpreadDB {
			low[b], high[b] = r.DifferenceDB[b]-half, r.DifferenceDB[b]+half
		}
		all = append(all, plots.Interval{Name: fmt.Sprintf("mean of other references like these ±%.1f dB (95 %%)", spreadDB(r)), FreqHz: hz,
			LowDB: low, HighDB: high, Kind: plots.HatchedEdge, Colour: plots.Blue})
	}
	return all
}

func leftOutSpans(r *match.Result) []plots.Span {
	var spans []plots.Span
	for _, s := range r.LeftOutSpans() {
		spans = append(spans, plots.Span{FromHz: s.LowHz, ToHz: s.HighHz, Why: words.Exclusion(s.Why)})
	}
	return spans
}

func table(r *match.Result) plots.Table {
	t := plots.Table{
		Header: []string{"", "shape", "frequency", "gain", "Q", "width", ifAllTone, "why"},
		Align:  []plots.Align{plots.Right, plots.Left, plots.Right, plots.Right, plots.Right, plots.Left, plots.Right, plots.Left},
	}
	if len(r.Moves) == 0 {
		return plots.Table{} // the headline says why
	}
	if held(r) {
		t.Header[1] = lowerFirst(dialledAlready)
	}
	for i, m := range r.Moves {
		t.Rows = append(t.Rows, []string{
			fmt.Sprint(i + 1), words.Shape(m.Shape), words.FormatHz(m.Dial.FreqHz), words.FormatGain(m.GainDB) + " dB",
			fmt.Sprintf("%.2f", m.Q), Width(m), Interval(m), keepUnits(whyOf(r, m)),
		})
	}
	t.Rows = append(t.Rows, []string{"", "trim", "", words.FormatGain(r.TrimDB) + " dB", "", "", "", trimReason(r)})
	if !hasIntervals(r) {
		const column = 6
		t.Header, t.Align = slices.Delete(t.Header, column, column+1), slices.Delete(t.Align, column, column+1)
		for i, row := range t.Rows {
			t.Rows[i] = slices.Delete(row, column, column+1)
		}
	}
	return t
}
