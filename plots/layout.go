package plots

import (
	"cmp"
	"errors"
	"strings"

	"toneplumb/plots/vector"

	"gonum.org/v1/plot/vg"
)

// Margins and gaps of the sheet, in layout units. Our choice.
const (
	sideMargin   = 26.0
	topMargin    = 20.0
	bottomMargin = 18.0
	paperMargin  = 62.0 // all sides of a page, 10.5 mm
	axisRoom     = 86.0 // left of the diagrams, for numbers and label
	lastTickRoom = 16.0 // right of the diagrams, for half of "20k"
	hzRoom       = 46.0 // below the last diagram
	keyGap       = 4.0  // below the key to left-out spans
	blockGap     = 12.0
	panelGap     = 12.0
)

// leastForPanel is the smallest height of a diagram in layout units.
const leastForPanel = 70.0

var errNoRoom = errors.New("the words leave no room for the panels: fewer lines, rows or panels, or a larger picture, are needed")

// page is a figure with the place of every part.
type page struct {
	*sheet
	figure              *Figure
	key                 key
	left, right, top    vg.Length
	title, lines, notes texts
	keyLines            []string
	keyTop, tableTop    vg.Length
	headings            []heading
	headingTops         []vg.Length
	diagrams            []*diagram
	table               tableLayout
	prose               prose
	proseTop            vg.Length
	grid                gridLayout
}

// draw draws the figure on a blank surface of the given size.
func (f *Figure) draw(c vector.Surface, width, height vg.Length) error {
	p, err := f.arrange(c, width, height)
	if err != nil {
		return err
	}
	p.draw()
	return nil
}

// arrange finds a place for every part, with a key for the left-out spans whose reasons do
// not fit inside. The key takes space from the panels, so that more reasons may no longer
// fit. It is extended until all do; it never becomes shorter.
func (f *Figure) arrange(c vector.Surface, width, height vg.Length) (*page, error) {
	s := newSheet(c, width, height, f)
	p, err := s.arrange(f, nil, width, height)
	if without := f.yielded(); without != nil && (err != nil || p.low()) {
		f = without
		p, err = s.arrange(f, nil, width, height)
	}
	if err != nil {
		return nil, err
	}
	for {
		longer := p.key.crowdedOut(p.diagrams)
		if len(longer) == len(p.key) {
			return p, nil
		}
		again, err := s.arrange(f, longer, width, height)
		if err != nil {
			return p, nil // no room for the key: the reasons stay where they cover least
		}
		p = again
	}
}

// arrange finds a place for every part, given the key.
func (s *sheet) arrange(f *Figure, k key, width, height vg.Length) (*page, error) {
	p := &page{sheet: s, figure: f, key: k}
	p.left, p.right, p.top = s.u(s.margin.side), width-s.u(s.margin.side), height-s.u(s.margin.top)
	beside := f.hasColumn(width, height)
	if beside {
		p.right -= (p.right-p.left)*textColumn + s.u(columnGap)
	}
	wide := p.right - p.left
	p.title = s.titleLines(f, wide)
	p.lines = s.allLines(s.plain(textSize), f.Lines, wide)
	p.notes = s.allLines(s.soft(noteSize), s.shared(s.soft(noteSize), f.Footnotes, wide), wide)
	inner := vg.Rectangle{
		Min: vg.Point{X: p.left + s.u(axisRoom)},
		Max: vg.Point{X: p.right - s.u(lastTickRoom)},
	}
	p.keyLines = s.keyLines(k, inner.Size().X)

	taken := s.u(hzRoom)
	if len(p.keyLines) > 0 {
		taken += s.lead(s.soft(noteSize), len(p.keyLines)) + s.u(keyGap)
	}
	for i := range f.Panels {
		p.headings = append(p.headings, s.headingOf(&f.Panels[i], inner.Size().X))
		taken += p.overPanel(i)
		if i > 0 {
			taken += s.u(panelGap)
		}
	}
	head := s.lead(s.heavy(titleSize), p.title.rows()) + s.lead(s.plain(textSize), p.lines.rows())
	p.grid = s.layGrid(&f.Grid, p.left, p.right, p.top-head)
	head += p.grid.height
	foot := s.u(s.margin.bottom) + s.lead(s.soft(noteSize), p.notes.rows())
	if head > 0 {
		head += s.u(blockGap)
	}
	if p.notes.rows() > 0 {
		foot += s.u(blockGap)
	}
	p.proseTop = p.top + s.u(blockGap)
	space := p.top - head - foot - taken
	room, under := p.layBelow(space, width, height)
	if room < p.leastRoom() {
		return nil, errNoRoom
	}
	p.tableTop = foot + under + p.table.height(s)
	if !beside {
		p.proseTop = foot + under
	}
	bottom := p.placePanels(inner, p.top-head, room)
	p.keyTop = bottom - s.u(hzRoom-8)
	return p, nil
}

// leastRoom returns the height that the diagrams need.
func (p *page) leastRoom() vg.Length { return vg.Length(len(p.figure.Panels)) * p.u(leastForPanel) }

// layBelow lays out the table and the running text of a sheet of that size, in the first way
// that leaves the diagrams enough of space, and cuts the text if none does. It returns the
// height left for the diagrams and that of what is below the table.
func (p *page) layBelow(space, width, height vg.Length) (room, under vg.Length) {
	f, s, beside := p.figure, p.sheet, p.figure.hasColumn(width, height)
	tries, side := tableTries, height
	if f.hasProse() {
		tries, side = proseTries, min(width, height)
	}
	for _, try := range tries {
		p.table = s.layTable(&f.Table, p.left, p.right-p.left, try)
		room = space - p.table.height(s)
		if f.hasProse() && beside {
			p.prose = s.columnOfProse(f, p.right+s.u(columnGap), width-s.u(s.margin.side), p.proseTop-s.u(s.margin.bottom))
		} else if f.hasProse() {
			p.prose = s.layProse(f, p.left, p.right, try.size+proseSize-textSize)
			room -= p.prose.height(s)
			p.prose.rule(s, room-panelsRoom*height, try.ruled)
			under = p.prose.height(s) + p.prose.heightRuled(s)
			room -= p.prose.heightRuled(s)
		}
		if room >= try.leaves*side {
			break
		}
	}
	if missing := p.leastRoom() - room; missing > 0 && f.hasProse() && !beside {
		p.prose.cutTo(s, p.prose.height(s)-missing)
		room += under - p.prose.height(s)
		under = p.prose.height(s)
	}
	return room, under
}

// columnOfProse lays out running text in a column, in smaller type if necessary.
func (s *sheet) columnOfProse(f *Figure, left, right, height vg.Length) prose {
	var p prose
	for _, size := range []float64{proseSize, textSize, noteSize} {
		if p = s.layProse(f, left, right, size); p.height(s)+p.overRuled(s)+roomyRuled*p.ruledHeight <= height {
			break
		}
	}
	p.cutTo(s, height)
	p.rule(s, height-p.height(s), 0)
	return p
}

// titleLines breaks the first title that fits onto at most two lines.
func (s *sheet) titleLines(f *Figure, width vg.Length) texts {
	const most = 2
	l, title := s.heavy(titleSize), f.Title
	for _, shorter := range f.Shorter {
		if len(s.lines(l, title, width, most+1, vector.CutEnd)) <= most {
			break
		}
		title = shorter
	}
	return s.allLines(l, []string{title}, width)
}

// allLines breaks each text onto at most two lines.
func (s *sheet) allLines(l lettering, all []string, width vg.Length) (out texts) {
	for _, txt := range all {
		if lines := s.lines(l, txt, width, 2, vector.CutEnd); len(lines) > 0 {
			out = append(out, lines)
		}
	}
	return out
}

// shared puts neighbours that begin with a bullet on one line where they fit.
func (s *sheet) shared(l lettering, all []string, width vg.Length) (out []string) {
	const bullet = "• "
	for i, txt := range all {
		if i > 0 && strings.HasPrefix(txt, bullet) && strings.HasPrefix(all[i-1], bullet) {
			if joined := out[len(out)-1] + " " + txt; s.wide(l, joined) <= width {
				out[len(out)-1] = joined
				continue
			}
		}
		out = append(out, txt)
	}
	return out
}

// overPanel returns the height that a panel needs above its diagram.
func (p *page) overPanel(i int) vg.Length {
	over := p.headingHeight(p.headings[i]) + p.marksRoom(&p.figure.Panels[i])
	if i == 0 && len(p.figure.Zones) > 0 {
		over += p.u(zoneRoom)
	}
	return over
}

// placePanels places the panels from top downwards, with room divided between their
// diagrams, and returns the bottom of the last one.
func (p *page) placePanels(inner vg.Rectangle, top, room vg.Length) vg.Length {
	shares := 0.0
	for i := range p.figure.Panels {
		shares += p.figure.Panels[i].share()
	}
	for i := range p.figure.Panels {
		panel := &p.figure.Panels[i]
		p.headingTops = append(p.headingTops, top)
		inner.Max.Y = top - p.overPanel(i)
		inner.Min.Y = inner.Max.Y - room*vg.Length(panel.share()/shares)
		p.diagrams = append(p.diagrams, p.newDiagram(panel, inner))
		top = inner.Min.Y - p.u(panelGap)
	}
	return inner.Min.Y
}

func (p *Panel) share() float64 { return cmp.Or(p.Share, 1) }

// draw draws the page.
func (p *page) draw() {
	y := p.putTexts(p.heavy(titleSize), vector.Heading, p.left, p.top, p.title)
	p.putTexts(p.plain(textSize), vector.Paragraph, p.left, y, p.lines)
	p.grid.draw(p.sheet)
	for i, d := range p.diagrams {
		last := i == len(p.diagrams)-1
		whole := vg.Rectangle{Min: vg.Point{X: p.left, Y: d.area.Min.Y}, Max: vg.Point{X: p.right, Y: p.headingTops[i]}}
		if last {
			whole.Min.Y -= p.u(hzRoom)
		}
		p.part(vector.Part{Role: vector.Figure, Alt: d.panel.describe(), Box: whole}, func() {
			p.drawHeading(p.headings[i], d.area.Min.X, d.area.Max.X, p.headingTops[i])
			d.draw(p.figure.Zones, p.key, last)
			d.marks()
			if i == 0 {
				d.zoneNames(p.figure.Zones)
			}
		})
	}
	small := p.soft(noteSize)
	p.putTexts(small, vector.Paragraph, p.diagrams[0].area.Min.X, p.keyTop, texts{p.keyLines})
	p.table.draw(p.sheet, p.left, p.right, p.tableTop)
	p.prose.draw(p.sheet, p.proseTop)
	p.putTexts(small, vector.Paragraph, p.left, p.u(p.margin.bottom)+p.lead(small, p.notes.rows()), p.notes)
}
