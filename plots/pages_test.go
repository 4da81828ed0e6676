package plots

import (
	"fmt"
	"io"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
)

// pageSizes are A4 and US letter, portrait and landscape, and A5, in pixels of 1/150 inch;
// ISO 216 and ANSI Y14.1 (from memory).
var pageSizes = [][2]int{{1240, 1754}, {1754, 1240}, {1275, 1650}, {1650, 1275}, {874, 1240}}

// pageFigures are pages to print with everything that a sheet can hold.
func pageFigures() []testFigure {
	page := func(moves []move, size [2]int) Figure {
		f := mainFigure(moves)
		f.Paper, f.WidthPx, f.HeightPx, f.DPI = true, size[0], size[1], DefaultDPI
		last := len(f.Table.Header) - 1
		f.Table.Header = f.Table.Header[:last]
		for i, row := range f.Table.Rows {
			f.Table.Under = append(f.Table.Under, row[last])
			f.Table.Rows[i] = row[:last]
		}
		f.Paragraphs = []Paragraph{
			{"What it shows", []string{
				"At equal loudness the mix differs most in the low mids: it lies 2.8 dB over the reference there, which is known to ±0.6\u00a0dB.",
				"Move 2 answers the low mids: it takes 2.6 dB out around 450 Hz, so that the ear judges tone and not level.",
			}},
			{"Listen", []string{"Compare with the equaliser on and off; start quietly. “Equal loudness” is not equal bass – the ear decides, ½ dB or not."}},
			{"", []string{"Without a heading."}},
		}
		f.Ruled = "Notes"
		return f
	}
	eight := append(testMoves(), testMoves()...)
	for i := range eight {
		eight[i].row = append([]string{fmt.Sprint(i + 1)}, eight[i].row[1:]...)
		eight[i].row[6] = strings.Repeat("where the vibraphone and the clarinet sit on top of one another, ", 2)
		eight[i].hz *= 1 + 0.3*float64(i/4)
	}
	full := page(eight, pageSizes[0])
	full.Lines = append(full.Lines, full.Lines...)
	full.Lines = append(full.Lines, strings.Repeat("Rough_mix_without_any_blank_", 12)+"prise-é.wav")
	full.Paragraphs = append(full.Paragraphs, full.Paragraphs[:2]...)
	fill := page(testMoves(), pageSizes[0])
	fill.Table.ToFill, fill.Table.Under = true, nil
	return []testFigure{
		{"page", page(testMoves(), pageSizes[0])}, {"page-sideways", page(testMoves(), pageSizes[1])},
		{"page-full", full}, {"page-to-fill", fill},
	}
}

// TestPagesKeepRows: even on a full page of a usual size, no row of settings and none of the
// running text is left out.
func TestPagesKeepRows(t *testing.T) {
	for _, c := range pageFigures() {
		for _, size := range pageSizes[:4] {
			f := c.fig
			f.WidthPx, f.HeightPx = size[0], size[1]
			p, err := f.arrange(new(words), vg.Length(size[0]), vg.Length(size[1]))
			if err != nil {
				t.Fatalf("%s at %v: %v", c.name, size, err)
			}
			if got, want := len(p.table.rows), len(f.Table.Rows); got != want {
				t.Errorf("%s at %v: %d rows, want %d", c.name, size, got, want)
			}
			if got, want := len(p.prose.texts), len(f.Paragraphs); got != want {
				t.Errorf("%s at %v: %d paragraphs, want %d", c.name, size, got, want)
			}
			if p.prose.ruled < 2 && c.name != "page-full" {
				t.Errorf("%s at %v: %d ruled lines", c.name, size, p.prose.ruled)
			}
		}
	}
}

// TestPagesAreCut: a small page loses running text before it is refused.
func TestPagesAreCut(t *testing.T) {
	f := pageFigures()[2].fig
	f.WidthPx, f.HeightPx = 900, 1000
	p, err := f.arrange(new(words), 900, 1000)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.prose.texts) >= len(f.Paragraphs) || p.prose.ruled > 0 {
		t.Errorf("%d paragraphs and %d ruled lines on a page without room", len(p.prose.texts), p.prose.ruled)
	}
	f.HeightPx = 450
	if err := WritePDF(io.Discard, &f); err == nil {
		t.Error("a page was made without room for its panels")
	}
}
