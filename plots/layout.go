package plots

import (
	"errors"

	"gonum.org/v1/plot/vg"
)

// Margins and gaps of the sheet, in layout units. Our choice.
const (
	sideMargin   = 26.0
	topMargin    = 20.0
	bottomMargin = 18.0
	axisRoom     = 86.0 // left of the diagrams, for numbers and label
	lastTickRoom = 16.0 // right of them, for half of "20k"
	hzRoom       = 46.0 // under the last one
	blockGap     = 12.0
	panelGap     = 12.0
)

// enoughForPanels is the part of the height below which the table gives way,
// leastForPanel the height in layout units a diagram cannot do without.
const (
	enoughForPanels = 0.38
	leastForPanel   = 70.0
)

var errNoRoom = errors.New("the words leave no room for the panels: fewer lines, rows or panels, or a larger picture, are needed")

// draw paints the figure on any canvas of this size that is blank paper.
func (f *Figure) draw(c vg.Canvas, width, height vg.Length) error {
	s := newSheet(c, width, height)
	left, right := s.u(sideMargin), width-s.u(sideMargin)
	title := s.lines(s.heavy(titleSize), f.Title, right-left, 2, cutMiddle)
	lines := s.allLines(s.plain(textSize), f.Lines, right-left, cutMiddle)
	notes := s.allLines(s.soft(noteSize), f.Footnotes, right-left, cutEnd)
	inner := vg.Rectangle{
		Min: vg.Point{X: left + s.u(axisRoom)},
		Max: vg.Point{X: right - s.u(lastTickRoom)},
	}
	headings := make([]heading, len(f.Panels))
	taken := s.u(hzRoom)
	for i := range f.Panels {
		headings[i] = s.headingOf(&f.Panels[i], inner.Max.X-inner.Min.X)
		taken += s.overPanel(f, headings, i)
		if i > 0 {
			taken += s.u(panelGap)
		}
	}

	top := height - s.u(topMargin)
	head := s.lead(s.heavy(titleSize), len(title)) + s.lead(s.plain(textSize), len(lines))
	foot := s.u(bottomMargin) + s.lead(s.soft(noteSize), len(notes))
	if head > 0 {
		head += s.u(blockGap)
	}
	if len(notes) > 0 {
		foot += s.u(blockGap)
	}
	var table tableLayout
	var room vg.Length
	for _, try := range tableTries {
		table = s.layTable(&f.Table, left, right-left, try)
		room = top - head - foot - table.height(s) - taken
		if room >= enoughForPanels*height {
			break
		}
	}
	if room < vg.Length(len(f.Panels))*s.u(leastForPanel) {
		return errNoRoom
	}

	y := s.putDown(s.heavy(titleSize), left, top, 0, title)
	s.putDown(s.plain(textSize), left, y, 0, lines)
	s.panels(f, headings, inner, top-head, room)
	table.draw(s, left, right, foot+table.height(s))
	s.putDown(s.soft(noteSize), left, s.u(bottomMargin)+s.lead(s.soft(noteSize), len(notes)), 0, notes)
	return nil
}

// allLines breaks each text onto at most two lines.
func (s *sheet) allLines(l lettering, texts []string, width vg.Length, where cut) []string {
	var out []string
	for _, txt := range texts {
		out = append(out, s.lines(l, txt, width, 2, where)...)
	}
	return out
}

// overPanel is the room a panel needs above its diagram.
func (s *sheet) overPanel(f *Figure, headings []heading, i int) vg.Length {
	over := s.headingHeight(headings[i]) + s.marksRoomOf(&f.Panels[i])
	if i == 0 && len(f.Zones) > 0 {
		over += s.u(zoneRoom)
	}
	return over
}

// panels draws the panels from top downwards, sharing out the room between
// their diagrams.
func (s *sheet) panels(f *Figure, headings []heading, inner vg.Rectangle, top, room vg.Length) {
	shares := 0.0
	for i := range f.Panels {
		shares += f.Panels[i].share()
	}
	for i := range f.Panels {
		p := &f.Panels[i]
		s.drawHeading(headings[i], inner.Min.X, inner.Max.X, top)
		top -= s.overPanel(f, headings, i)
		inner.Max.Y = top
		inner.Min.Y = top - room*vg.Length(p.share()/shares)
		d := s.newDiagram(p, inner)
		d.draw(f.Zones, i == len(f.Panels)-1)
		d.marks()
		if i == 0 {
			d.zoneNames(f.Zones)
		}
		top = inner.Min.Y - s.u(panelGap)
	}
}

func (p *Panel) share() float64 {
	if p.Share == 0 {
		return 1
	}
	return p.Share
}
