package plots

import (
	"fmt"
	"io"

	"gonum.org/v1/plot/vg"

	"toneplumb/plots/vector"
)

// Wall is a picture for the wall: rows of shaded cells in letters that are read from two
// metres. It prints 420 mm wide on A3 paper on its side or, with more than eight rows or so, on A2
// upright; or 17 inches wide on tabloid and ANSI C paper. With still more it gets higher.
type Wall struct {
	Title   string // on at most two lines
	Line    string // under it, on at most two
	Columns []string
	Rows    []WallRow // 1 to MaxWallRows
	Note    string    // small, at the bottom, on at most three lines
	Letter  bool      // American sizes of paper
}

// WallRow is one row; Cells are as many as columns.
type WallRow struct {
	Name  string
	Cells []WallCell
}

// WallCell is shaded −1 to 1, cut to that: in one hue below 0, in another above, 0 for paper.
// The text says the same, for those who see no hues and for grey print.
type WallCell struct {
	Text  string
	Shade float64
	Heavy bool // the text is bold
}

// MaxWallRows is how many rows a picture holds. Our choice: on 420 mm it is 1.5 m high.
const MaxWallRows = 70

// Sizes in thousandths of the width. Capitals of the letters in cells are 0.73·30/1000 of 420 mm
// high, 9.2 mm, which from 2 m is 16 minutes of arc, the least that ISO 9241-303 allows (from
// memory); the rest is our choice.
const (
	wallLetters  = 30.0
	wallTitle    = 44.0
	wallNote     = 17.0
	wallRow      = 48.0  // at least
	wallMostRow  = 160.0 // two rows nearly fill A3
	wallMargin   = 32.0
	wallNames    = 0.29 // of the width inside the margins
	wallGap      = 3.0
	wallRule     = 1.0 // over a row's cells, so that they do not cover the line between rows
	wallBlockGap = 20.0
)

// Paper of pictures for the wall, as height to width: A3 on its side and A2 upright, which are
// as wide (ISO 216); tabloid and C (ANSI Y14.1, from memory).
var (
	wallISO = [2]float64{297.0 / 420, 594.0 / 420}
	wallUS  = [2]float64{11.0 / 17, 22.0 / 17}
)

const wallDPI = 150

// WritePNG draws the picture.
func (f *Wall) WritePNG(w io.Writer) error { return f.write(w, blankPNG) }

// WriteSVG draws it in lines, with every word an outline.
func (f *Wall) WriteSVG(w io.Writer) error { return f.write(w, blankSVG) }

func (f *Wall) write(w io.Writer, blank func(vector.Sheet) document) error {
	if n := len(f.Rows); n == 0 || n > MaxWallRows {
		return fmt.Errorf("a picture for the wall has 1 to %d rows, not %d", MaxWallRows, n)
	}
	for _, r := range f.Rows {
		if len(r.Cells) != len(f.Columns) {
			panic("plots: a row for the wall with another number of cells than columns")
		}
	}
	width, height, row := f.size()
	plain := &Figure{}
	c := blank(vector.Sheet{WidthPx: width, HeightPx: height, DPI: wallDPI, Title: f.Title, Paper: plain.tones().paper})
	s := newSheet(c, vg.Length(width), vg.Length(height), plain)
	s.unit = s.Size().X / 1000
	f.layOn(s, s.Size().X, s.Size().Y, row, true)
	_, err := c.WriteTo(w)
	return err
}

// size is the size of the picture in pixels, and of a row in thousandths of the width.
func (f *Wall) size() (width, height int, row float64) {
	wide, shapes := 420/25.4*wallDPI, wallISO
	if f.Letter {
		wide, shapes = 17*wallDPI, wallUS
	}
	width = int(wide)
	s := newSheet(vector.NewSVG(vector.Sheet{}), vg.Length(width), vg.Length(width), &Figure{})
	s.unit = vg.Length(wide / 1000)
	height = int(f.layOn(s, vg.Length(width), 0, wallRow, false))
	for _, shape := range shapes {
		if room := int(wide * shape); room >= height {
			spare := float64(room-height) / float64(s.unit)
			return width, room, min(wallRow+spare/float64(len(f.Rows)), wallMostRow)
		}
	}
	return width, height, wallRow
}

// layOn draws, or only measures, the picture from the top of a sheet, with rows of a height, and
// returns how high it is.
func (f *Wall) layOn(s *sheet, width, top vg.Length, row float64, draw bool) vg.Length {
	left, right := s.u(wallMargin), width-s.u(wallMargin)
	y := top - s.u(wallMargin)
	block := func(l lettering, txt string, most int) {
		lines := s.lines(l, txt, right-left, most, vector.CutEnd)
		if draw {
			s.putDown(l, left, y, 0, lines)
		}
		y -= s.lead(l, len(lines))
	}
	block(s.heavy(wallTitle), f.Title, 2)
	block(s.plain(wallLetters), f.Line, 2)
	y -= s.u(wallBlockGap)

	first := left + vg.Length(wallNames)*(right-left)
	cell := (right - first) / vg.Length(max(1, len(f.Columns)))
	head, most := s.heavy(wallLetters), 1
	var names [][]string
	for _, name := range f.Columns {
		lines := s.lines(head, name, cell-s.u(wallGap), 2, vector.CutEnd)
		names, most = append(names, lines), max(most, len(lines))
	}
	y -= s.lead(head, most)
	for i, lines := range names {
		if draw { // down to one line
			s.putDown(head, first+cell*(vg.Length(i)+0.5), y+s.lead(head, len(lines)), 0.5, lines)
		}
	}
	for _, r := range f.Rows {
		if draw {
			s.wallRow(r, left, first, cell, y, s.u(row))
		}
		y -= s.u(row)
	}
	y -= s.u(wallBlockGap)
	block(s.soft(wallNote), f.Note, 3)
	return top - y + s.u(wallMargin)
}

func (s *sheet) wallRow(r WallRow, left, first, cell, top, height vg.Length) {
	bottom := top - height
	base := (top+bottom)/2 - s.u(0.36*wallLetters) // capitals are 0.73 of the size high
	plain := s.plain(wallLetters)
	most := max(1, min(2, int(height/s.lead(plain, 1))))
	name := s.lines(plain, r.Name, first-left-s.u(4*wallGap), most, vector.CutMiddle)
	s.putDown(plain, left, base+s.u(wallLetters)+s.lead(plain, len(name)-1)/2, 0, name)
	for i, c := range r.Cells {
		at := vg.Rectangle{Min: vg.Point{X: first + cell*vg.Length(i) + s.u(wallGap), Y: bottom + s.u(wallGap)}, Max: vg.Point{X: first + cell*vg.Length(i+1), Y: top - s.u(wallRule)}}
		l := plain
		if c.Heavy {
			l = s.heavy(wallLetters)
		}
		l = s.shaded(at, s.between(c.Shade), l)
		s.put(l, (at.Min.X+at.Max.X)/2, base, 0.5, s.line(l, c.Text, cell, vector.CutEnd))
	}
	s.stroke(s.grid, 1, vg.Point{X: left, Y: bottom}, vg.Point{X: first + cell*vg.Length(len(r.Cells)), Y: bottom})
}
