package report

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/plots"
	"toneplumb/spectrum"
)

// narrowIn is the width in inches below which a bare check shows only its lower panel, and titles are
// short. Our choice: the width of a telephone.
const narrowIn = 5

// Narrow reports whether a chart is less than narrowIn wide. Its default size is not.
func (l ChartOptions) Narrow() bool {
	return l.WidthPx > 0 && float64(l.WidthPx) < narrowIn*cmp.Or(l.DPI, plots.DefaultDPI)
}

// CheckChart draws a check. The size must pass [ChartOptions.Check].
func CheckChart(k *match.Check, look ChartOptions) *plots.Figure {
	r := &match.Result{Comparison: k.Comparison} // without moves
	f := Chart(r, look)
	f.Panels[len(f.Panels)-1] = checkedDifference(k)
	if look.Bare {
		if look.Narrow() {
			f.Panels = f.Panels[len(f.Panels)-1:]
			p := &f.Panels[0]
			p.Title, p.Curves[0].Name = words.Plural(len(k.References), "mix minus reference: up is too much", "mix minus references: up is too much"), "tolerance"
		}
		return f
	}
	f.Title, f.Shorter = CheckSentence(k), shorterChecks(k)
	f.Table = checkTable(k)
	if k.Since != nil {
		const mostLines = 5 // three references are usual
		f.Lines = recordingNotes(checkedRecordings(k), mostLines)
	}
	notes, names := checkNotes(k)
	const mostNotes = 5 // leave room for the panels
	f.Footnotes = bulleted(thatFit(notes, names, mostNotes, look.noteCells(), true))
	if text := explained(k); text != "" { // the table is above
		f.Footnotes = slices.Insert(f.Footnotes, 0, text)
	}
	keepAllUnits(f.Footnotes)
	return f
}

// checkNotes returns what stands below a check's chart, and what each note is called where it has no room.
func checkNotes(k *match.Check) (notes, names []string) {
	add := func(name string, texts ...string) {
		notes, names = append(notes, texts...), append(names, slices.Repeat([]string{name}, len(texts))...)
	}
	add("distance", checkDistance(k))
	if k.Since != nil {
		add("the earlier mix", progressSentences(k.Since)...)
	}
	add("stereo width", words.SideFindings(k.Sides, len(k.References))...)
	return append(notes, words.Findings(k.Warnings)...), append(names, codes(k.Warnings)...)
}

// checkedDifference returns the panel of the mix less the references, so that up is too much. It
// shows the likely range, and for each zone its mean and tolerance.
func checkedDifference(k *match.Check) plots.Panel {
	r := &match.Result{Comparison: k.Comparison}
	p := differences(r)
	p.LeastUnitsPerDB = 0 // tolerances may be wide
	p.Share = checkedShare
	p.Title = words.Plural(len(k.References), "mix minus reference, level ignored: up is too much", "mix minus references, level ignored: up is too much")
	for i := range p.Curves {
		p.Curves[i].DB = negated(p.Curves[i].DB)
	}
	for i := range p.Intervals {
		iv := &p.Intervals[i]
		iv.LowDB, iv.HighDB = negated(iv.HighDB), negated(iv.LowDB)
	}
	p.Intervals = p.Intervals[:min(1, len(p.Intervals))] // the tolerance covers other references
	for i := range p.Intervals {                         // the table's ranges hold at once, so they are wider
		p.Intervals[i].Name = "likely range " + measurement(r) + ", at each frequency"
	}
	if k.Since != nil {
		before := negated(drawnDifference(&match.Result{Comparison: k.Since.Before}))
		floats.AddConst(-k.Since.ShiftDB, before) // on the level of the difference
		p.Curves = append(p.Curves, plots.Curve{Name: "before", FreqHz: spectrum.Centres(), DB: before, Style: earlierStyle})
	}
	lowest, highest := k.JudgedHz()
	var hz, mean, high, low []float64
	for _, z := range k.Zones {
		z.LowHz, z.HighHz = max(z.LowHz, lowest), min(z.HighHz, highest)
		if z.HighHz < z.LowHz*1.01 || z.Why == match.LeftOutZone {
			continue
		}
		// Stay a little inside the zone, so that frequencies rise; a gap separates the zones.
		for _, at := range []float64{z.LowHz * 1.001, z.HighHz / 1.001} {
			hz = append(hz, at)
			mean = append(mean, -z.DifferenceDB)
			high = append(high, z.ToleranceDB)
			low = append(low, -z.ToleranceDB)
		}
		hz = append(hz, z.HighHz/1.0005)
		mean, high, low = append(mean, math.NaN()), append(high, math.NaN()), append(low, math.NaN())
	}
	edge := plots.Style{Colour: plots.Vermillion, Dash: plots.Dashed}
	p.Curves = append([]plots.Curve{
		{Name: "tolerance of the zone's mean", FreqHz: hz, DB: high, Style: edge},
		{FreqHz: hz, DB: low, Style: edge},
	}, p.Curves...)
	p.Curves = append(p.Curves, plots.Curve{Name: "mean of the zone", FreqHz: hz, DB: mean, Style: plots.Style{Colour: plots.BluishGreen, Weight: plots.Strong}})
	return p
}

// checkedShare gives the panel that is judged room for wide tolerances. Our choice.
const checkedShare = 1.5

func negated(db []float64) []float64 {
	return floats.ScaleTo(make([]float64, len(db)), -1, db)
}

func checkTable(k *match.Check) plots.Table {
	t := plots.Table{
		Header: []string{"zone", "from", "to", "the mix is", "likely range, all zones at once", "tolerance", "verdict"},
		Align:  []plots.Align{plots.Left, plots.Right, plots.Right, plots.Left, plots.Left, plots.Right, plots.Left},
	}
	for _, z := range k.Zones {
		c := zoneCells(z)
		low, high := judgedEdges(k.Comparison, z.Zone, z.DifferenceDB)
		t.Rows = append(t.Rows, []string{z.Name, low, high, c[0], c[1], c[2], c[3]})
	}
	if k.Since == nil {
		return t
	}
	const at = 3 // before "the mix is"
	t.Header, t.Align = slices.Insert(t.Header, at, "it was"), slices.Insert(t.Align, at, plots.Left)
	for i, z := range k.Since.Zones {
		was := ""
		if moved := z.MovedDB(); !math.IsNaN(moved) { // over what is judged in both; the mix may be judged over more
			was = words.FormatDifference(k.Zones[i].DifferenceDB + moved)
		}
		t.Rows[i] = slices.Insert(t.Rows[i], at, was)
	}
	return t
}
