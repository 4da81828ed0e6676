package forms

import (
	"cmp"
	"fmt"
	"io"
	"strings"

	"toneplumb/match/page"
	"toneplumb/match/report"
	"toneplumb/match/tracks"
	"toneplumb/match/words"
	"toneplumb/plots"
)

// Panels writes the effects of the moves alone as an SVG. Without a size in look it has its own.
func Panels(w io.Writer, a *tracks.Advice, look report.ChartOptions) error {
	return panels(a, look).WriteSVG(w)
}

// PanelsReading returns what the picture of [Panels] says at each band: the curves of each panel.
func PanelsReading(a *tracks.Advice, look report.ChartOptions) (*report.Reading, error) {
	f := panels(a, look)
	return report.ReadingOf(f, a.Result.Comparison, func(b int) (said []string) {
		for i, p := range f.Panels {
			var curves []string
			for _, c := range p.Curves {
				curves = append(curves, cmp.Or(c.Name, "difference")+" "+words.FormatGain(c.DB[b]))
			}
			text := strings.Join(curves, ", ") + " dB"
			if len(p.Marks) > 0 {
				text = fmt.Sprintf("move %d: %s", i+1, text)
			}
			said = append(said, text)
		}
		return said
	})
}

func panels(a *tracks.Advice, look report.ChartOptions) *plots.Figure {
	f := Chart(a)
	f.Dark, f.Steady, f.DPI = look.Dark, look.Steady, look.DPI
	f.Title, f.Lines, f.Grid, f.Footnotes, f.Table = "", nil, plots.Grid{}, nil, plots.Table{} // the page has them
	for i := range f.Panels {
		switch p := &f.Panels[i]; {
		case !look.Narrow():
		case a.PlanReplacesMoves():
			p.Title = "reference minus mix, and the plan"
		case len(a.Moves) > 0:
			p.Title = fmt.Sprintf("move %d: %s", i+1, words.Setting(a.Moves[i].Filter))
		}
	}
	f.HeightPx = restPx + panelPx*len(f.Panels)
	if look.WidthPx > 0 {
		f.WidthPx, f.HeightPx = look.WidthPx, look.HeightPx
	}
	return f
}

// Headline returns a sentence that says what to do.
func Headline(a *tracks.Advice) string {
	if a.PlanReplacesMoves() {
		return report.Doubted(words.PlanHeading(a)+": "+words.Count(len(words.PlanSteps(a)), "step")+".", a.Result.Warnings)
	}
	if len(a.Moves) == 0 && len(words.PlanSteps(a)) > 0 {
		return report.Doubted(words.PlanHeading(a)+".", a.Result.Warnings)
	}
	return report.Headline(a.Result)
}

// TextAloud writes the advice in lines that make sense one by one, see [report.BlocksAloud].
// [Text] has the same in columns.
func TextAloud(w io.Writer, a *tracks.Advice) error {
	blocks := []report.Block{report.Recordings(a.Result.Mix, a.Result.References)}
	return report.BlocksAloud(w, Headline(a), append(blocks, Part(a).Blocks...)...)
}

// Part returns a page's section on single tracks: the effects of the moves as a picture, the
// shares, and the paragraphs of [Text].
func Part(a *tracks.Advice) *page.Part {
	p := picturePart(a)
	add := func(heading string, items ...report.Item) {
		if len(items) > 0 {
			p.Blocks = append(p.Blocks, report.Block{Heading: heading, Items: items})
		}
	}
	item := func(lead string, text ...string) report.Item { return report.Item{Lead: lead, Paragraphs: text} }
	list := func(heading string, sentences []string) {
		if b := report.Paragraphs(heading, sentences...); len(b.Items) > 0 {
			p.Blocks = append(p.Blocks, b)
		}
	}
	var moves, pairs, steps []report.Item
	for i, step := range words.PlanSteps(a) {
		steps = append(steps, item(fmt.Sprintf("%d.", i+1), report.Printable(step)))
	}
	planned := len(steps) > 0
	for _, note := range words.PlanNotes(a) {
		steps = append(steps, item("", note))
	}
	if planned {
		add(words.PlanHeading(a), steps...)
	}
	p.Blocks = append(p.Blocks, sharesBlock(a))
	list("", []string{restWords})
	if !planned {
		add(words.PlanHeading(a), steps...)
	}
	for i, m := range a.Moves {
		if a.PlanReplacesMoves() {
			break
		}
		moves = append(moves, item(fmt.Sprintf("Move %d, %s.", i+1, words.Setting(m.Filter)), trackMoveWords(a, m)...))
	}
	add("Master or track", moves...)
	if len(a.Moves) > 0 && anyHeard(a) && !a.PlanReplacesMoves() {
		p.Blocks = append(p.Blocks, changesBlock(a))
	}
	if len(a.Pairs) == 0 {
		pairs = append(pairs, item("", words.UpperFirst(noPairsWords(a))))
	}
	for _, x := range a.Pairs[:min(mostPairs, len(a.Pairs))] {
		pairs = append(pairs, item(fmt.Sprintf("%.0f %%,", 100*x.Share), pairWords(a, x)))
	}
	if more := morePairs(a); more != "" {
		pairs = append(pairs, item("", more))
	}
	add(pairsHeading(a), pairs...)
	list(lowCutsHeading, lowCutWords(a))
	list(placingsHeading, placingWords(a))
	var warnings []string
	for _, w := range words.TrackFindings(a) {
		warnings = append(warnings, report.Printable(w))
	}
	list("Watch out in the tracks", warnings)
	list("", []string{earWords})
	return p
}

// sharesBlock returns the cells of the chart for all tracks.
func sharesBlock(a *tracks.Advice) report.Block {
	names, rest := zoneCells(a)
	b := report.Block{Heading: sharesHeading, Head: append([]string{"track"}, names...)}
	for _, t := range a.Tracks {
		b.Rows = append(b.Rows, append([]string{report.Printable(t.Name)}, shareCells(t)...))
	}
	b.Rows = append(b.Rows, append([]string{"no track"}, rest...))
	return b
}

// changesBlock returns the change of each track's loudness by the moves on the master.
func changesBlock(a *tracks.Advice) report.Block {
	b := report.Block{Heading: changesHeading, Head: []string{"track"}}
	for i := range a.Moves {
		b.Head = append(b.Head, fmt.Sprintf("move %d", i+1))
	}
	b.Head = append(b.Head, "all")
	for _, t := range a.Tracks {
		if t.State == tracks.Heard {
			b.Rows = append(b.Rows, append([]string{report.Printable(t.Name)}, changeCells(t)...))
		}
	}
	return b
}

// picturePart returns the section with its picture alone.
func picturePart(a *tracks.Advice) *page.Part {
	p := &page.Part{Heading: "Which track carries what", Title: "The mix beside the reference, track by track",
		InWords: "What each move changes in the mix, on the master and on the track instead.",
		Chart: func(dark bool) (string, error) {
			var svg strings.Builder
			err := Panels(&svg, a, report.ChartOptions{Dark: dark})
			return svg.String(), err
		}}
	if a.PlanReplacesMoves() {
		p.InsteadOfMoves = "The plan below does what moves on the master would do: faders and single filters first."
		p.InWords = "The difference, and what the plan does to the mix."
	} else if len(a.Moves) == 0 {
		p.InWords = "What the reference has more or less than the mix."
	}
	return p
}
