package papers

import (
	"fmt"
	"io"
	"math"
	"strings"

	"toneplumb/biquad"
	"toneplumb/match/report"
	"toneplumb/match/training"
	"toneplumb/match/words"
	"toneplumb/plots"
)

// rendersAPage is the number of diagrams on a student's page.
const rendersAPage = 6

// WritePages writes the pages for the students as one PDF: for each student the hidden and the heard
// curve of every render and what was found, and on the last page what was taken for what and the
// scores of the lessons. Nothing names the mix. At least one student must have been marked.
func WritePages(w io.Writer, c *Class, letter bool) error {
	var all []*plots.Figure
	for _, s := range c.Students {
		if s.Why == "" {
			all = append(all, studentPages(s, c.Answers, letter)...)
		}
	}
	return plots.WritePDF(w, all...)
}

func studentPages(s Student, a *training.Answers, letter bool) []*plots.Figure {
	var all []*plots.Figure
	pages := (len(s.Marks) + rendersAPage - 1) / rendersAPage
	for p := range pages {
		f := report.HandoutOptions{Letter: letter}.Paper()
		f.Title = s.Name + ": what was hidden, what was heard"
		f.Lines = []string{
			a.Rules.Name + " · " + words.Marked(s.Total),
			fmt.Sprintf("score %s: the mean of the renders (100 %% is the very curve, 0 %% no nearer than no answer)", words.Score(s.Total.Score)),
		}
		f.Footnotes = []string{foundTerms, scoreTerms}
		if pages > 1 {
			f.Lines[0] += fmt.Sprintf(" · page %d of %d", p+1, pages)
		}
		f.Zones = report.ChartZones()
		f.Table = plots.Table{Header: []string{"", "score", "dB off unweighted (unanswered)", "what became of it"}, Align: []plots.Align{plots.Right, plots.Right, plots.Right}}
		for i := p * rendersAPage; i < min((p+1)*rendersAPage, len(s.Marks)); i++ {
			m := s.Marks[i]
			f.Panels = append(f.Panels, renderPanel(i, m, float64(a.RateHz)))
			f.Table.Rows = append(f.Table.Rows, []string{fmt.Sprint(i + 1), words.Score(m.Score()), fmt.Sprintf("%.1f (%.1f)", m.OffDB, m.HiddenDB), words.Mark(m)})
		}
		if p == pages-1 {
			f.Paragraphs = s.paragraphs(a)
		}
		all = append(all, f)
	}
	return all
}

// renderPanel draws the hidden and the heard curve of a render, level ignored as in the marks.
func renderPanel(i int, m training.Mark, rateHz float64) plots.Panel {
	hz := heardHz(rateHz)
	var hidden, heard []biquad.Filter
	for _, pairs := range [][]training.Pair{m.Found, m.WrongWay, m.Confused} {
		for _, p := range pairs {
			hidden = append(hidden, p.Hidden)
			if p.Heard != (biquad.Filter{}) {
				heard = append(heard, p.Heard)
			}
		}
	}
	hidden, heard = append(hidden, m.Missed...), append(heard, m.Invented...)
	curve := func(name string, moves []biquad.Filter, style plots.Style) plots.Curve {
		for i := range moves {
			moves[i] = training.AsJudged(moves[i])
			moves[i].FreqHz = math.Min(moves[i].FreqHz, 0.49*rateHz)
		}
		return plots.Curve{Name: name, FreqHz: hz, DB: biquad.ResponseDB(nil, moves, hz, rateHz), Style: style}
	}
	p := plots.Panel{Title: fmt.Sprintf("render %d", i+1), YLabel: "dB", ZeroLine: true, MinSpanDB: 10,
		Curves: []plots.Curve{curve("hidden", hidden, plots.Style{Colour: plots.Black, Weight: plots.Strong})}}
	if heard != nil {
		p.Curves = append(p.Curves, curve("heard", heard, plots.Style{Colour: plots.Blue, Dash: plots.Dashed}))
	}
	return p
}

// paragraphs say what was taken for what, and list the scores of the lessons.
func (s Student) paragraphs(a *training.Answers) []plots.Paragraph {
	var all []plots.Paragraph
	var mixups []string
	for _, m := range firstMixups(s.confusion()) {
		mixups = append(mixups, words.UpperFirst(m)+".")
	}
	if mixups == nil {
		mixups = []string{"Nothing was mistaken twice."}
	}
	all = append(all, plots.Paragraph{Heading: "Mix-ups", Text: mixups})
	if s.Earlier != nil {
		lessons := append(s.progress(), a.Rules.Name+": "+words.Score(s.Total.Score))
		all = append(all, plots.Paragraph{Heading: "Your lessons so far", Text: []string{strings.Join(lessons, "; ") + "."}})
	}
	return all
}
