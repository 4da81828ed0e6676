package forms

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"toneplumb/match/page"
	"toneplumb/match/report"
	"toneplumb/match/tracks"
	"toneplumb/match/words"
	"toneplumb/plots"
)

// PanelCounts returns how many panels each picture of [Panels] has.
func PanelCounts(a *tracks.Advice) (counts []int) {
	for _, panels := range pictures(a) {
		counts = append(counts, len(panels))
	}
	return counts
}

// pictures returns the panels of [Chart], spread evenly over pictures. Our choice: with more than four
// panels a picture would be higher than a window.
func pictures(a *tracks.Advice) [][]plots.Panel {
	const most = 4
	all := effectPanels(a)
	count := (len(all) + most - 1) / most
	return slices.Collect(slices.Chunk(all, (len(all)+count-1)/count))
}

// Panels writes the effects of the moves alone as an SVG: picture `of` of those in [PanelCounts].
// Without a size in look it has its own.
func Panels(w io.Writer, a *tracks.Advice, of int, look report.ChartOptions) error {
	f, _ := panels(a, of, look)
	return f.WriteSVG(w)
}

// PanelsReading returns what a picture of [Panels] says at each band: the curves of each panel.
func PanelsReading(a *tracks.Advice, of int, look report.ChartOptions) (*report.Reading, error) {
	f, first := panels(a, of, look)
	return report.ReadingOf(f, a.Result.Comparison, func(b int) (said []string) {
		for i, p := range f.Panels {
			var curves []string
			for _, c := range p.Curves {
				curves = append(curves, cmp.Or(c.Name, "difference")+" "+words.FormatGain(c.DB[b]))
			}
			text := strings.Join(curves, ", ") + " dB"
			if len(p.Marks) > 0 {
				text = fmt.Sprintf("move %d: %s", first+i+1, text)
			}
			said = append(said, text)
		}
		return said
	})
}

// panels returns a picture of [Panels], and the index of the move in its first panel.
func panels(a *tracks.Advice, of int, look report.ChartOptions) (f *plots.Figure, first int) {
	f, all := Chart(a), pictures(a)
	f.Panels, first = all[of], of*len(all[0])
	f.Dark, f.Steady, f.DPI = look.Dark, look.Steady, look.DPI
	f.Title, f.Lines, f.Grid, f.Footnotes, f.Table = "", nil, plots.Grid{}, nil, plots.Table{} // the page has them
	for i := range f.Panels {
		switch p := &f.Panels[i]; {
		case !look.Narrow():
		case a.PlanReplacesMoves():
			p.Title = "reference minus mix, and the plan"
		case len(a.Moves) > 0:
			p.Title = fmt.Sprintf("move %d: %s", first+i+1, words.Setting(a.Moves[first+i].Filter))
		}
	}
	f.HeightPx = restPx + panelPx*len(f.Panels)
	if look.WidthPx > 0 {
		f.WidthPx, f.HeightPx = look.WidthPx, look.HeightPx
	}
	return f, first
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
		steps = append(steps, item(fmt.Sprintf("%d.", i+1), step))
	}
	planned := len(steps) > 0
	for _, note := range words.PlanNotes(a) {
		steps = append(steps, item("", note))
	}
	if planned {
		add(words.PlanHeading(a), steps...)
	}
	p.Blocks = append(p.Blocks, sharesBlock(a))
	list("", []string{words.NoTrack})
	if !planned {
		add(words.PlanHeading(a), steps...)
	}
	for i, m := range a.Moves {
		if a.PlanReplacesMoves() {
			break
		}
		moves = append(moves, item(fmt.Sprintf("Move %d, %s.", i+1, words.Setting(m.Filter)), words.TrackMove(a, m)...))
	}
	add("Master or track", moves...)
	if len(a.Moves) > 0 && anyHeard(a) && !a.PlanReplacesMoves() {
		p.Blocks = append(p.Blocks, changesBlock(a))
	}
	if len(a.Pairs) == 0 {
		pairs = append(pairs, item("", words.UpperFirst(words.NoPairs(a))))
	}
	for _, x := range a.Pairs[:min(mostPairs, len(a.Pairs))] {
		pairs = append(pairs, item(fmt.Sprintf("%.0f %%,", 100*x.Share), words.Pair(a, x)))
	}
	if more := morePairs(a); more != "" {
		pairs = append(pairs, item("", more))
	}
	add(pairsHeading(a), pairs...)
	list(lowCutsHeading, words.LowCuts(a))
	list(placingsHeading, words.Placings(a))
	list("Watch out in the tracks", warnings(a))
	list("", []string{words.ByEar})
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
		Charts: func(dark bool) (all []string, err error) {
			for of := range pictures(a) {
				var svg strings.Builder
				if err := Panels(&svg, a, of, report.ChartOptions{Dark: dark, Steady: true}); err != nil {
					return nil, err
				}
				all = append(all, svg.String())
			}
			return all, nil
		}}
	if a.PlanReplacesMoves() {
		p.InsteadOfMoves = "The plan below does what moves on the master would do: faders and single filters first."
		p.InWords = "The difference, and what the plan does to the mix."
	} else if len(a.Moves) == 0 {
		p.InWords = "What the reference has more or less than the mix."
	}
	return p
}
