package plots

import (
	"gonum.org/v1/plot/vg"

	"toneplumb/plots/vector"
)

// Paragraph is running text below or beside a heading.
type Paragraph struct {
	Heading string
	Text    []string // each starts a new line, and takes as many lines as it needs
}

// Layout of running text and of ruled lines for handwriting, in layout units. Our choice.
const (
	proseSize  = 20.0
	labelWide  = 190.0 // width of the column for headings, if there is one
	leastProse = 800.0 // above this width, headings are beside the text
	textColumn = 0.33  // width of the column of text, as a share of a landscape sheet's
	columnGap  = 40.0
	textGap    = 5.0  // between the texts of a paragraph
	ruledGap   = 47.0 // 8 mm at 150 units per inch, as on school paper
	roomyRuled = 3    // number of ruled lines for which the type in a column is made smaller
	mostRuled  = 24   // largest number of ruled lines
)

// panelsRoom is the share of a portrait sheet's height that the diagrams get before
// more ruled lines are added. Our choice.
const panelsRoom = 0.42

// prose is running text broken into lines, and ruled lines after it.
type prose struct {
	head, body  lettering
	left, text  vg.Length // left edges of headings and of text
	right       vg.Length
	headings    []string
	texts       [][][]string // of each heading, in lines
	ruledTitle  string
	ruled       int       // number of ruled lines
	ruledHeight vg.Length // of one ruled line
}

// hasProse reports whether the figure has running text or ruled lines.
func (f *Figure) hasProse() bool { return len(f.Paragraphs) > 0 || f.Ruled != "" }

// hasColumn reports whether running text has a column of its own.
func (f *Figure) hasColumn(width, height vg.Length) bool { return f.hasProse() && width > height }

// layProse breaks the text into lines between left and right, in type of a size.
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

// rulesGap is the gap between a heading and the text beside it, in layout units.
const rulesGap = 12.0

// beside reports whether headings are beside the text instead of above it.
func (p *prose) beside() bool { return p.text > p.left }

// heightOf returns the height of a paragraph with the gap above it.
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

// height returns the height of the text without the ruled lines.
func (p *prose) height(s *sheet) vg.Length {
	var h vg.Length
	for i := range p.texts {
		h += p.heightOf(s, i)
	}
	return h
}

// cutTo removes texts from the end until the rest fits into height, and shows that by a
// [vector.Ellipsis].
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

// rule sets the number of ruled lines to what fits into height, but at least least.
func (p *prose) rule(s *sheet, height vg.Length, least int) {
	if p.ruledTitle == "" {
		return
	}
	p.ruled = max(least, min(int((height-p.overRuled(s))/p.ruledHeight), mostRuled))
}

// overRuled returns the height above the ruled lines.
func (p *prose) overRuled(s *sheet) vg.Length {
	if p.beside() {
		return s.u(blockGap)
	}
	return s.u(blockGap) + s.lead(p.head, 1)
}

// heightRuled returns the height of the ruled lines with their heading.
func (p *prose) heightRuled(s *sheet) vg.Length {
	if p.ruled == 0 {
		return 0
	}
	return p.overRuled(s) + vg.Length(p.ruled)*p.ruledHeight
}

// draw draws the text and the ruled lines from top downwards.
func (p *prose) draw(s *sheet, top vg.Length) {
	for i, all := range p.texts {
		from := top - s.u(blockGap)
		if p.headings[i] != "" {
			under := s.putTexts(p.head, vector.Subheading, p.left, from, texts{{p.headings[i]}})
			if !p.beside() {
				from = under
			}
		}
		for _, lines := range all {
			from = s.putTexts(p.body, vector.Paragraph, p.text, from, texts{lines}) - s.u(textGap)
		}
		top -= p.heightOf(s, i)
	}
	if p.ruled == 0 {
		return
	}
	top -= s.u(blockGap)
	under := s.putTexts(p.head, vector.Subheading, p.left, top, texts{{p.ruledTitle}})
	if !p.beside() {
		top = under
	}
	for range p.ruled {
		top -= p.ruledHeight
		s.stroke(s.tones.hatch, 1.2, vg.Point{X: p.text, Y: top}, vg.Point{X: p.right, Y: top})
	}
}
