package plots

import (
	"image/color"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"toneplumb/plots/vector"
)

// Sizes of type in layout units. Capitals of Liberation Sans are 0.73 of the size high, so
// 18 gives capitals of 13 pixels on the default figure.
const (
	titleSize = 27.0
	labelSize = 19.0 // axes, legend, panel titles
	textSize  = 18.0 // lines, table, zones
	noteSize  = 16.0 // footnotes, reasons
)

// leading is the distance between baselines, relative to the size of type. Our choice.
const leading = 1.28

// sheet is the drawing surface of one figure, with its letters and colours. Sizes are in
// layout units, one pixel of the default figure, so that pictures of the same shape look the
// same at any number of pixels.
type sheet struct {
	draw.Canvas
	surface vector.Surface
	*tones
	unit          vg.Length
	margin        margins
	regular, bold *vector.Letters
}

func newSheet(c vector.Surface, width, height vg.Length, f *Figure) *sheet {
	unit := min(width/DefaultWidthPx, height/DefaultHeightPx)
	margin := margins{sideMargin, topMargin, bottomMargin}
	if f.Paper || f.Steady {
		unit = vg.Length(f.DPI / DefaultDPI)
	}
	if f.Paper {
		margin = margins{paperMargin, paperMargin, paperMargin}
	}
	return &sheet{
		Canvas:  draw.NewCanvas(c, width, height),
		surface: c,
		tones:   f.tones(),
		unit:    unit,
		margin:  margin,
		regular: vector.NewLetters(false),
		bold:    vector.NewLetters(true),
	}
}

// margins of the sheet, in layout units.
type margins struct{ side, top, bottom float64 }

// u returns n layout units as a length on the canvas.
func (s *sheet) u(n float64) vg.Length { return vg.Length(n) * s.unit }

// lettering is a font (regular or bold), a size in layout units and a colour.
type lettering struct {
	*vector.Letters
	size   float64
	colour color.NRGBA
}

func (s *sheet) plain(size float64) lettering { return lettering{s.regular, size, s.ink} }
func (s *sheet) soft(size float64) lettering  { return lettering{s.regular, size, s.softInk} }
func (s *sheet) heavy(size float64) lettering { return lettering{s.bold, size, s.ink} }

// wide returns the width of txt on the canvas.
func (s *sheet) wide(l lettering, txt string) vg.Length {
	return s.u(l.size * l.Width(l.Printable(txt)))
}

// lines breaks txt to a width, see [vector.Letters.Fit].
func (s *sheet) lines(l lettering, txt string, width vg.Length, maxLines int, where vector.Cut) []string {
	return l.Fit(l.Printable(txt), float64(width/s.u(l.size)), maxLines, where)
}

// line returns txt shortened to one line, which may be empty.
func (s *sheet) line(l lettering, txt string, width vg.Length, where vector.Cut) string {
	for _, first := range s.lines(l, txt, width, 1, where) {
		return first
	}
	return ""
}

// lead returns the height of n lines.
func (s *sheet) lead(l lettering, n int) vg.Length { return s.u(float64(n) * l.size * leading) }

// put writes one line. With align 0 it starts at x, with 0.5 it is centred on x, with 1 it
// ends at x.
func (s *sheet) put(l lettering, x, baseline vg.Length, align float64, txt string) {
	txt = l.Printable(txt)
	x -= vg.Length(align) * s.wide(l, txt)
	s.SetColor(l.colour)
	s.surface.Words(l.Letters, txt, s.u(l.size), vg.Point{X: x, Y: baseline})
}

// putDown writes lines one below the other from top downwards, and returns the bottom of the
// last one.
func (s *sheet) putDown(l lettering, x, top vg.Length, align float64, lines []string) vg.Length {
	for i, txt := range lines {
		if align == 0 && i < len(lines)-1 {
			txt += " " // for those who copy the text or have it read aloud
		}
		s.put(l, x, top-s.u(l.size), align, txt)
		top -= s.lead(l, 1)
	}
	return top
}

// putTurned writes a block of centred lines, rotated anticlockwise about its centre, with an
// outline of paper around every letter, which is casing layout units wide and half inside the
// letter. The outline keeps the letters readable on hatching.
func (s *sheet) putTurned(l lettering, centre vg.Point, angle, casing float64, lines []string) {
	s.Push()
	s.Translate(centre)
	s.Rotate(angle)
	top := s.lead(l, len(lines)) / 2
	if casing > 0 {
		s.SetLineStyle(draw.LineStyle{Color: s.paper, Width: s.u(casing)})
		for i, txt := range lines {
			at := vg.Point{X: -s.wide(l, txt) / 2, Y: top - s.lead(l, i) - s.u(l.size)}
			s.Stroke(l.Path(txt, s.u(l.size), at))
		}
	}
	s.putDown(l, 0, top, 0.5, lines)
	s.Pop()
}

// part draws what is one thing to programs that read aloud, where the surface keeps such.
func (s *sheet) part(p vector.Part, draw func()) {
	if reader, is := s.surface.(vector.Reader); is {
		reader.Begin(p)
		defer reader.End()
	}
	draw()
}

// texts are texts broken into lines.
type texts [][]string

// rows is how many lines they take.
func (t texts) rows() int {
	n := 0
	for _, lines := range t {
		n += len(lines)
	}
	return n
}

// putTexts is putDown for texts, each a part of its own, and returns the bottom of the last.
func (s *sheet) putTexts(l lettering, role vector.Role, x, top vg.Length, all texts) vg.Length {
	for _, lines := range all {
		if len(lines) == 0 {
			continue
		}
		s.part(vector.Part{Role: role}, func() { top = s.putDown(l, x, top, 0, lines) })
	}
	return top
}

// stroke draws a thin line between two points; width in layout units.
func (s *sheet) stroke(c color.NRGBA, width float64, from, to vg.Point) {
	s.StrokeLines(draw.LineStyle{Color: c, Width: s.u(width)}, []vg.Point{from, to})
}

// box returns the rectangle's corners as a closed path.
func box(r vg.Rectangle) vg.Path {
	return closed(r.Min, vg.Point{X: r.Max.X, Y: r.Min.Y}, r.Max, vg.Point{X: r.Min.X, Y: r.Max.Y})
}

// closed returns the path through some corners, one at least, and back to the first.
func closed(corners ...vg.Point) vg.Path {
	var p vg.Path
	p.Move(corners[0])
	for _, corner := range corners[1:] {
		p.Line(corner)
	}
	p.Close()
	return p
}

// lineStyle turns a Style into canvas lengths.
func (s *sheet) lineStyle(st Style) draw.LineStyle {
	width := s.unit * weights[st.Weight]
	style := draw.LineStyle{Color: s.curves[st.Colour], Width: width}
	for _, d := range dashes[st.Dash] {
		style.Dashes = append(style.Dashes, d*width)
	}
	return style
}
