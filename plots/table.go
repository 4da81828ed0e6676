package plots

import (
	"strconv"

	"toneplumb/plots/vector"

	"gonum.org/v1/plot/vg"
)

// tableLayout is a table broken into lines, ready to be drawn.
type tableLayout struct {
	body    lettering
	head    lettering
	align   []Align
	left    []vg.Length // of each column
	width   []vg.Length
	header  []string
	rows    [][][]string // row, column, lines
	under   [][]string   // row, lines of the sentence below it
	toFill  bool
	instead []string // a sentence instead of the table, or below it about missing rows
}

// tableTry is one way to save space.
type tableTry struct {
	size     float64   // of type
	maxLines int       // of the last column
	maxRows  int       // 0: all
	leaves   vg.Length // share of the height that must be left for the panels; if less is, the next try is used
	ruled    int       // smallest number of ruled lines, if there is a place for them
}

// tableTries are tried in order until the panels have enough space: smaller type and
// shorter texts come first, then lower panels, then missing rows. Our choice.
var tableTries = []tableTry{
	{textSize, 2, 0, 0.38, 0}, {noteSize, 2, 0, 0.32, 0}, {textSize, 1, 0, 0.38, 0}, {noteSize, 1, 0, 0.27, 0},
	{noteSize, 1, 0, 0.18, 0}, {noteSize, 1, 12, 0.27, 0}, {noteSize, 1, 6, 0.27, 0}, {noteSize, 1, 3, 0, 0},
}

// proseTries are those of a sheet with running text, which gives up ruled lines before
// rows. Their leaves is a share of the shorter side. Our choice.
var proseTries = []tableTry{
	{textSize, 2, 0, 0.38, 3}, {textSize, 2, 0, 0.38, 2}, {textSize, 2, 0, 0.34, 2}, {noteSize, 2, 0, 0.34, 2}, {noteSize, 2, 0, 0.27, 2},
	{noteSize, 2, 0, 0.23, 2}, {noteSize, 2, 0, 0.20, 0},
	{noteSize, 1, 12, 0.20, 0}, {noteSize, 1, 6, 0.20, 0}, {noteSize, 1, 3, 0, 0},
}

// maxColumn is the largest share of the width for a column other than the last, maxColumns
// that of all these columns together. Our choice.
const (
	maxColumn  = 0.30
	maxColumns = 0.68
)

// layTable lays the table out in a width.
func (s *sheet) layTable(t *Table, left, width vg.Length, try tableTry) tableLayout {
	lay := tableLayout{body: s.plain(try.size), head: s.heavy(try.size), align: t.Align, toFill: t.ToFill}
	if len(t.Rows) == 0 {
		lay.body = s.plain(labelSize)
		lay.instead = s.lines(lay.body, t.Instead, width, 3, vector.CutEnd)
		return lay
	}
	lay.columns(s, t, left, width)
	last := len(lay.width) - 1
	for i, txt := range t.Header {
		lay.header = append(lay.header, s.line(lay.head, txt, lay.width[i], vector.CutEnd))
	}
	rows := t.Rows
	if try.maxRows > 0 && len(rows) > try.maxRows {
		rows = rows[:try.maxRows]
	}
	for n, row := range rows {
		if len(t.Under) > 0 {
			lay.under = append(lay.under, s.lines(lay.soft(s), t.Under[n], left+width-lay.underLeft(), 3, vector.CutEnd))
		}
		var cells [][]string
		for i, txt := range row {
			maxLines := 1
			if i == last {
				maxLines = try.maxLines
			}
			if i > 0 && t.ToFill {
				txt = ""
			}
			cells = append(cells, s.lines(lay.body, txt, lay.width[i], maxLines, vector.CutEnd))
		}
		lay.rows = append(lay.rows, cells)
	}
	if more := len(t.Rows) - len(rows); more > 0 {
		lay.instead = []string{"… and " + strconv.Itoa(more) + " more"}
	}
	return lay
}

// columns divides the width: each column gets what its cells need, within limits, and the
// last gets the rest.
func (lay *tableLayout) columns(s *sheet, t *Table, left, width vg.Length) {
	n := len(t.Header)
	needs := make([]vg.Length, n)
	for i, txt := range t.Header {
		needs[i] = s.wide(lay.head, txt)
	}
	for _, row := range t.Rows {
		for i, txt := range row {
			needs[i] = max(needs[i], s.wide(lay.body, txt))
		}
	}
	var all, fixed vg.Length
	for i := range n - 1 {
		needs[i] = min(needs[i], width*maxColumn)
		fixed += needs[i]
	}
	const least, most = 24, 46 // layout units between columns
	gaps := vg.Length(max(n-1, 1))
	if room := width*maxColumns - gaps*s.u(least); fixed > room {
		for i := range n - 1 {
			needs[i] *= room / fixed
		}
		fixed = room
	}
	all = fixed + needs[n-1]
	gap := max(s.u(least), min(s.u(most), (width-all)/gaps))
	needs[n-1] = width - fixed - gap*vg.Length(n-1)
	for i := range n {
		needs[i] += s.u(0.01) // so that a cell as wide as its column fits
		lay.width = append(lay.width, needs[i])
		lay.left = append(lay.left, left)
		left += needs[i] + gap
	}
}

// rowAir is the space above and below the lines of a row, in layout units.
const rowAir = 1.5

func (lay *tableLayout) rowHeight(s *sheet, n int) vg.Length {
	if lay.toFill {
		return s.u(ruledGap)
	}
	lines := lay.rowLines(n)
	if len(lay.under) > 0 {
		lines += len(lay.under[n])
	}
	return s.lead(lay.body, lines) + s.u(2*rowAir)
}

// rowLines returns the number of lines of a row without the sentence below it.
func (lay *tableLayout) rowLines(n int) int {
	lines := 1
	for _, c := range lay.rows[n] {
		lines = max(lines, len(c))
	}
	return lines
}

// soft returns the lettering of the sentence below a row.
func (lay *tableLayout) soft(s *sheet) lettering { return s.soft(lay.body.size) }

// underLeft returns the left edge of that sentence, which begins at the second column.
func (lay *tableLayout) underLeft() vg.Length { return lay.left[min(1, len(lay.left)-1)] }

func (lay *tableLayout) height(s *sheet) vg.Length {
	h := s.lead(lay.body, len(lay.instead))
	if len(lay.rows) > 0 {
		h += s.lead(lay.head, 1) + s.u(8)
	} else if len(lay.instead) > 0 {
		h += s.u(8)
	}
	for n := range lay.rows {
		h += lay.rowHeight(s, n)
	}
	return h
}

// draw draws the table from top downwards.
func (lay *tableLayout) draw(s *sheet, left, right, top vg.Length) {
	rule := func(weight float64, y vg.Length) {
		tone := s.tones.hatch
		if weight > 1 {
			tone = s.ink
		}
		s.stroke(tone, weight, vg.Point{X: left, Y: y}, vg.Point{X: right, Y: y})
	}
	if len(lay.rows) == 0 {
		s.putTexts(lay.body, vector.Paragraph, left, top-s.u(8), texts{lay.instead})
		return
	}
	below := s.lead(lay.body, len(lay.instead))
	whole := vg.Rectangle{Min: vg.Point{X: left, Y: top - lay.height(s) + below}, Max: vg.Point{X: right, Y: top}}
	s.part(vector.Part{Role: vector.Table, Box: whole}, func() {
		var header [][]string
		for _, txt := range lay.header {
			header = append(header, []string{txt})
		}
		lay.row(s, lay.head, vector.HeadCell, top, header)
		top -= s.lead(lay.head, 1) + s.u(3)
		rule(1.4, top)
		top -= s.u(5)
		for n, cells := range lay.rows {
			if n > 0 {
				rule(0.8, top)
			}
			from := top - s.u(rowAir)
			if lay.toFill {
				from = top - s.u(ruledGap) + s.lead(lay.body, 1)
			}
			lay.row(s, lay.body, vector.Cell, from, cells)
			if len(lay.under) > 0 && len(lay.under[n]) > 0 {
				lay.drawUnder(s, from-s.lead(lay.body, lay.rowLines(n)), lay.under[n])
			}
			top -= lay.rowHeight(s, n)
		}
		if lay.toFill {
			rule(0.8, top)
		}
	})
	s.putTexts(lay.body, vector.Paragraph, left, top, texts{lay.instead})
}

// row writes the cells of a row. To programs that read aloud it has one in each column.
func (lay *tableLayout) row(s *sheet, l lettering, role vector.Role, top vg.Length, cells [][]string) {
	s.part(vector.Part{Role: vector.Row}, func() {
		for i := range lay.width {
			role := role
			if i < len(lay.header) && lay.header[i] == "" {
				role = vector.Cell // heads nothing
			}
			s.part(vector.Part{Role: role}, func() {
				if i < len(cells) {
					lay.cell(s, l, i, top, cells[i])
				}
			})
		}
	})
}

// drawUnder writes the sentence below a row, a row of one cell.
func (lay *tableLayout) drawUnder(s *sheet, top vg.Length, lines []string) {
	s.part(vector.Part{Role: vector.Row}, func() {
		s.part(vector.Part{Role: vector.Cell, Span: len(lay.width)}, func() { s.putDown(lay.soft(s), lay.underLeft(), top, 0, lines) })
	})
}

// cell writes lines into a column with its alignment.
func (lay *tableLayout) cell(s *sheet, l lettering, column int, top vg.Length, lines []string) {
	align := 0.0
	if column < len(lay.align) {
		align = [...]float64{Left: 0, Right: 1, Centre: 0.5}[lay.align[column]]
	}
	x := lay.left[column] + vg.Length(align)*lay.width[column]
	s.putDown(l, x, top, align, lines)
}
