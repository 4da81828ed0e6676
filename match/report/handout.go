package report

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/plots"
	"toneplumb/spectrum/finding"
)

// HandoutOptions say how to make a page to hand out. The zero value is A4, upright.
type HandoutOptions struct {
	Letter   bool // US letter paper instead of A4
	Sideways bool // landscape
	Blank    bool // a worksheet without target, moves and settings, then its solution
	Variant  int  // of the worksheet, printed on it; 0 and 1 are the mix itself, see [match.Variant]

	// DPI is the resolution of a PNG in pixels per inch; 0 means 150.
	DPI float64
}

// Check returns an error if no page can have this size.
func (l HandoutOptions) Check() error { return l.Paper().CheckSize() }

// Paper returns an empty page.
func (l HandoutOptions) Paper() *plots.Figure {
	const mmPerInch = 25.4
	f := &plots.Figure{DPI: cmp.Or(l.DPI, plots.DefaultDPI), Paper: true}
	wide, high := 210/mmPerInch, 297/mmPerInch // ISO 216
	if l.Letter {
		wide, high = 8.5, 11 // inches, ANSI Y14.1 (from memory)
	}
	if l.Sideways {
		wide, high = high, wide
	}
	f.WidthPx, f.HeightPx = int(math.Round(wide*f.DPI)), int(math.Round(high*f.DPI))
	return f
}

// HandoutPages returns the pages to hand out: one, or two if look.Blank. They hold curves
// and words but no recording's table, so the pages of many results fit in memory.
func HandoutPages(r *match.Result, look HandoutOptions) []*plots.Figure {
	pages := []*plots.Figure{solution(r, look)}
	if look.Blank {
		solved := look.titled("Solution")
		pages[0].Title = solved + lowerFirst(pages[0].Title)
		for i, text := range pages[0].Shorter {
			pages[0].Shorter[i] = solved + lowerFirst(text)
		}
		if r.Mix != nil { // the worksheet's solution explains in words to read out
			pages[0].Paragraphs[0] = plots.Paragraph{Heading: "To read aloud", Text: aloud(r)}
		}
		pages = slices.Insert(pages, 0, worksheet(r, look))
	}
	for _, page := range pages {
		for _, texts := range [][]string{page.Lines, page.Footnotes, page.Table.Under} {
			keepAllUnits(texts)
		}
		for _, p := range page.Paragraphs {
			keepAllUnits(p.Text)
		}
	}
	return pages
}

var unit = regexp.MustCompile(`([0-9]) (dB|Hz|kHz|LUFS|LU|%|oct)`)

// keepUnits puts a no-break space between numbers and their units.
func keepUnits(text string) string { return unit.ReplaceAllString(text, "$1\u00a0$2") }

func keepAllUnits(texts []string) {
	for i, text := range texts {
		texts[i] = keepUnits(text)
	}
}

func lowerFirst(s string) string { return strings.ToLower(s[:1]) + s[1:] }

// handoutOf returns what worksheet and solution have in common: the chart on paper, with the
// recordings.
func handoutOf(r *match.Result, look HandoutOptions) *plots.Figure {
	f := Chart(r, ChartOptions{})
	page := look.Paper()
	page.Title, page.Shorter, page.Panels, page.Zones = f.Title, f.Shorter, f.Panels, f.Zones
	const mostLines = 7
	page.Lines = append(recordingNotes(namedOf(r), mostLines), equaliserLine(r)...)
	return page
}

func solution(r *match.Result, look HandoutOptions) *plots.Figure {
	page := handoutOf(r, look)
	page.Table = handoutTable(r)
	// One paragraph, since rows of the table come first. What is judged comes last, for the diagrams show it too.
	page.Footnotes = []string{strings.TrimSpace(aims(r) + " " + judged(r))}
	bouncing := limiterOff
	if len(r.Moves) > 0 {
		bouncing += equaliserFirst
	}
	page.Paragraphs = []plots.Paragraph{
		{Heading: "What it shows", Text: summary(r)},
		{Heading: "How to bounce", Text: []string{bouncing}},
		{Heading: "Listen", Text: []string{listen}},
	}
	const mostLines, letters = 7, 105 // our choice: room for notes stays; a line upright
	warnings := r.Warnings
	if i := slices.IndexFunc(warnings, func(f finding.Finding) bool { _, is := f.(match.OtherMix); return is }); i >= 0 {
		page.Lines = append(page.Lines, words.Finding(warnings[i])) // what the page is about, nothing to watch out for
		warnings = slices.Delete(slices.Clone(warnings), i, i+1)
	}
	if text := thatFit(Remarks(warnings), codes(warnings), mostLines, letters, false); len(text) > 0 {
		page.Paragraphs = slices.Insert(page.Paragraphs, 1, plots.Paragraph{Heading: "Watch out", Text: text})
	}
	page.Ruled = "Notes"
	return page
}

// NameLine is where a student writes their name and the date.
const NameLine = "name: ______________________________   date: ______________"

// titled returns the start of a page's title: "Worksheet, variant 2: ".
func (l HandoutOptions) titled(what string) string {
	if l.Variant > 1 {
		what += fmt.Sprintf(", variant %d", l.Variant)
	}
	return what + ": "
}

// worksheet returns the page that leaves the answer open.
func worksheet(r *match.Result, look HandoutOptions) *plots.Figure {
	page := handoutOf(r, look)
	page.Title, page.Shorter = look.titled("Worksheet")+"what would you move?", nil // the headline would tell the answer
	page.Lines = append([]string{NameLine}, page.Lines...)
	p := &page.Panels[len(page.Panels)-1]
	p.Marks = nil
	p.Curves = slices.DeleteFunc(p.Curves, func(c plots.Curve) bool { return c.Name != differenceName(r) })
	page.Table = plots.Table{ToFill: true,
		Header: []string{"", "shape", "frequency", "gain", "Q or width", "why"},
		Align:  []plots.Align{plots.Right},
	}
	const rows = 4 // as many as the question asks for
	for i := range rows {
		page.Table.Rows = append(page.Table.Rows, RowToFill(fmt.Sprint(i+1)))
	}
	page.Paragraphs = []plots.Paragraph{
		{Heading: "Your task", Text: questions(r)},
		{Heading: "Listen", Text: []string{listen}},
	}
	page.Ruled = "Answers"
	return page
}

// RowToFill returns a row of a table for a move to be written in by hand: number, shape, frequency,
// gain, width and a remark. Cells other than the first only reserve space.
func RowToFill(number string) []string {
	return []string{number, "a high shelf it is", "12.5 kilohertz", "+2.5 decibels", "so many octaves", ""}
}

// handoutTable returns the settings, each with its reason on a line below it.
func handoutTable(r *match.Result) plots.Table {
	t := table(r)
	if len(t.Rows) == 0 {
		return plots.Table{} // the text says why there are none
	}
	last := len(t.Header) - 1
	t.Header = t.Header[:last]
	t.Align[last-1] = plots.Left // it fills the rest of the line
	for i, row := range t.Rows {
		t.Under = append(t.Under, row[last])
		t.Rows[i] = row[:last]
	}
	return t
}

// limiterOff and listen are printed on every page, equaliserFirst where there are moves.
const (
	limiterOff     = "Switch the master's limiter and loudness processing off."
	equaliserFirst = " Put the equaliser first on the master, before a bus compressor, with the trim at " +
		"its own output, so that the compressor sees the same level. If the mix already runs through a compressor, bounce again after the moves and check."
	listen = "Compare with the equaliser on and off at one setting of the monitor; start quietly. Equal loudness is not equal bass: the ear decides. " +
		words.SafeListening
)
