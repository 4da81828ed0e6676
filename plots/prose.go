package plots

import (
	"gonum.org/v1/plot/vg"

	"toneplumb/plots/vector"
)

// Paragraph is running text under a heading.
type Paragraph struct {
	Heading string
	Text    []string // each begins a line, and takes as many as it needs
}

// Layout of running text and of room for handwriting, in layout units. Our choice.
const (
	proseSize  = 20.0
	labelWide  = 190.0 // of the column for headings, where there is one
	leastProse = 800.0 // a width from which headings stand beside the text
	textColumn = 0.33  // of the sheet's width, on one that lies
	columnGap  = 40.0
	textGap    = 5.0  // between the texts of a paragraph
	ruledGap   = 47.0 // 8 mm at 150 units per inch, as school paper has
	roomyRuled = 3    // lines, for which type in a column gets smaller
	mostRuled  = 24
)

// panelsRoom is the part of a standing sheet's height that the diagrams take before
// room for handwriting grows. Our choice.
const panelsRoom = 0.42

// prose is running text broken into lines, and ruled lines after it.
type prose struct {
	head, body  lettering
	left, text  vg.Length // of headings, of text
	right       vg.Length
	headings    []string
	texts       [][][]string // of each heading, in lines
	ruledTitle  string
	ruled       int
	ruledHeight vg.Length // of one
}

// hasProse tells whether the figure has more than a chart.
func (f *Figure) hasProse() bool { return len(f.Paragraphs) > 0 || f.Ruled != "" }

// hasColumn tells whether running text stands in a column of its own.
func (f *Figure) hasColumn(width, height vg.Length) bool { return f.hasProse() && width > height }

// layProse breaks the text to a width, in type of a size.
func (s *sheet) layProse(f *Figure, left, right vg.Length, size float64) prose {
	p := prose{head: s.heavy(size), body: s.plain(size), left: left, text: left, right: right, ruledTitle: f.Ruled, ruledHeight: s.u(ruledGap)}
	if right-left > s.u(leastProse) {
		p.text += s.u(labelWide)
	}
	const most = 12 // lines of one text; a safeguard
	for _, para := range f.Paragraphs {
		room := right - left
		if p.beside() {
			room = p.text - left - s.u(rulesGap)
		}
		p.headings = append(p.headings, s.line(p.head, para.Heading, room, vector.CutEnd))
		var texts [][]string
		for _, txt := range para.Text {
			texts = append(texts, s.lines(p.body, txt, right-p.text, most, vector.CutEnd))
		}
		p.texts = append(p.texts, texts)
	}
	return p
}

// rulesGap is the room between a heading and the text beside it.
const rulesGap = 12.0

// beside tells whether headings stand beside the text, not over it.
func (p *prose) beside() bool { return p.text > p.left }

// heightOf is that of a paragraph with the gap over it.
func (p *prose) heightOf(s *sheet, i int) vg.Length {
	rows := 0
	for _, lines := range p.texts[i] {
		rows += len(lines)
	}
	switch {
	case p.headings[i] == "":
	case p.beside():
		rows = max(rows, 1)
	default:
		rows++
	}
	return s.u(blockGap) + s.lead(p.body, rows) + s.u(textGap)*vg.Length(max(0, len(p.texts[i])-1))
}

// height without what is ruled.
func (p *prose) height(s *sheet) vg.Length {
	var h vg.Length
	for i := range p.texts {
		h += p.heightOf(s, i)
	}
	return h
}

// cutTo takes texts off the end until they are no higher, and says so by an vector.Ellipsis.
func (p *prose) cutTo(s *sheet, height vg.Length) {
	for p.height(s) > height && len(p.texts) > 0 {
		last := len(p.texts) - 1
		if n := len(p.texts[last]); n > 1 {
			p.texts[last] = append(p.texts[last][:n-2:n-2], []string{vector.Ellipsis})
			if p.height(s) > height {
				p.texts[last] = p.texts[last][:n-2]
			}
		} else {
			p.headings, p.texts = p.headings[:last], p.texts[:last]
		}
	}
}

// rule sets how many lines are ruled in a height that is left.
func (p *prose) rule(s *sheet, height vg.Length, least int) {
	if p.ruledTitle == "" {
		return
	}
	p.ruled = max(least, min(int((height-p.overRuled(s))/p.ruledHeight), mostRuled))
}

// overRuled is the room above the first ruled line's own height.
func (p *prose) overRuled(s *sheet) vg.Length {
	if p.beside() {
		return s.u(blockGap)
	}
	return s.u(blockGap) + s.lead(p.head, 1)
}

func (p *prose) heightRuled(s *sheet) vg.Length {
	if p.ruled == 0 {
		return 0
	}
	return p.overRuled(s) + vg.Length(p.ruled)*p.ruledHeight
}

// draw writes it from top downwards.
func (p *prose) draw(s *sheet, top vg.Length) {
	for i, texts := range p.texts {
		from := top - s.u(blockGap)
		under := s.putDown(p.head, p.left, from, 0, []string{p.headings[i]})
		if !p.beside() && p.headings[i] != "" {
			from = under
		}
		for _, lines := range texts {
			from = s.putDown(p.body, p.text, from, 0, lines) - s.u(textGap)
		}
		top -= p.heightOf(s, i)
	}
	if p.ruled == 0 {
		return
	}
	top -= s.u(blockGap)
	under := s.putDown(p.head, p.left, top, 0, []string{p.ruledTitle})
	if !p.beside() {
		top = under
	}
	for range p.ruled {
		top -= p.ruledHeight
		s.stroke(s.tones.hatch, 1.2, vg.Point{X: p.text, Y: top}, vg.Point{X: p.right, Y: top})
	}
}
