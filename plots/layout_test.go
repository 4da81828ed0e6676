package plots

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"toneplumb/plots/vector"
	"toneplumb/spectrum/testkit"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/recorder"
)

// words is a canvas that records the bounding box of every filled path: without fills of
// intervals these are texts and the cells of a grid. Rotated and outlined texts, which are on
// top of the diagrams on purpose, are skipped.
type words struct {
	recorder.Canvas
	depth        int
	boxes, cells []vg.Rectangle
}

func (w *words) Push() { w.depth++ }
func (w *words) Pop()  { w.depth-- }
func (w *words) Fill(p vg.Path) {
	if w.depth > 0 || len(p) == 0 {
		return
	}
	inf := vg.Length(math.Inf(1))
	b := vg.Rectangle{Min: vg.Point{X: inf, Y: inf}, Max: vg.Point{X: -inf, Y: -inf}}
	for _, c := range p {
		if c.Type == vg.CloseComp {
			continue
		}
		b.Min.X, b.Min.Y = min(b.Min.X, c.Pos.X), min(b.Min.Y, c.Pos.Y)
		b.Max.X, b.Max.Y = max(b.Max.X, c.Pos.X), max(b.Max.Y, c.Pos.Y)
	}
	if isBox(p, b) {
		w.cells = append(w.cells, b)
		return
	}
	w.boxes = append(w.boxes, b)
}

func (w *words) Words(l *vector.Letters, txt string, size vg.Length, at vg.Point) {
	w.Fill(l.Path(txt, size, at))
}

// isBox reports whether a path is a rectangle higher than a stroke. It is then a cell, since
// no line of text is one.
func isBox(p vg.Path, b vg.Rectangle) bool {
	const stroke = 4 // a minus or an I standing alone is a box too, but a thin one
	for _, c := range p {
		onX := c.Pos.X == b.Min.X || c.Pos.X == b.Max.X
		onY := c.Pos.Y == b.Min.Y || c.Pos.Y == b.Max.Y
		if c.Type != vg.CloseComp && !(onX && onY) {
			return false
		}
	}
	return min(b.Max.X-b.Min.X, b.Max.Y-b.Min.Y) > stroke
}

// cuts reports whether a text is partly inside a cell; it must be inside or outside.
func cuts(cell, b vg.Rectangle) bool {
	in := b.Min.X >= cell.Min.X && b.Max.X <= cell.Max.X && b.Min.Y >= cell.Min.Y && b.Max.Y <= cell.Max.Y
	return overlap(cell, b) && !in
}

func overlap(a, b vg.Rectangle) bool {
	return a.Min.X < b.Max.X && b.Min.X < a.Max.X && a.Min.Y < b.Max.Y && b.Min.Y < a.Max.Y
}

// testSizes are those of a screen, a page in landscape and portrait format, a strip, a
// column, and the smallest and largest possible.
var testSizes = [][2]int{
	{600, 440}, {800, 600}, {1350, 990}, {1600, 700}, {3000, 600}, {700, 1200}, {600, 2000}, {2480, 3508}, {4000, 3000},
}

func sizesFor(f Figure) [][2]int {
	if f.Paper {
		return pageSizes
	}
	return testSizes
}

// TestWordsKeepApart: no texts overlap and none leave the sheet, for any number of rows and
// size of the picture.
func TestWordsKeepApart(t *testing.T) {
	testkit.Skip(t, "lays out hundreds of figures")
	var figures []testFigure
	add := func(name string, f Figure) {
		for _, size := range sizesFor(f) {
			f.WidthPx, f.HeightPx = size[0], size[1]
			figures = append(figures, testFigure{fmt.Sprintf("%s at %d×%d", name, size[0], size[1]), f})
		}
	}
	for rows := range 9 {
		var moves []move
		for i := range rows {
			m := testMoves()[i%4]
			m.hz = 300 * math.Pow(1.06, float64(i))
			m.row = append([]string{fmt.Sprint(i + 1)}, m.row[1:]...)
			m.row[6] += ", with more words than one line of a table can hold at any width"
			moves = append(moves, m)
		}
		f := mainFigure(moves)
		f.Table.Instead = "No move is worth making."
		add(fmt.Sprintf("%d rows", rows), f)
	}
	for _, c := range uglyFigures() {
		add(c.name, c.fig)
	}
	for _, c := range figures {
		t.Run(c.name, func(t *testing.T) {
			f := c.fig.withDefaults()
			for i := range f.Panels {
				f.Panels[i].Intervals = nil
			}
			width, height := vg.Length(f.WidthPx), vg.Length(f.HeightPx)
			var w words
			if err := f.draw(&w, width, height); err != nil {
				t.Fatal(err)
			}
			if len(w.boxes) < 20 {
				t.Fatalf("only %d words were drawn", len(w.boxes))
			}
			for i, a := range w.boxes {
				if a.Min.X < 4 || a.Min.Y < 4 || a.Max.X > width-4 || a.Max.Y > height-4 {
					t.Errorf("words at %v leave the sheet", a)
				}
				for _, b := range w.boxes[:i] {
					if overlap(a, b) {
						t.Errorf("words at %v and %v overlap", a, b)
					}
				}
				for _, cell := range w.cells {
					if cuts(cell, a) {
						t.Errorf("words at %v stand over the edge of a cell at %v", a, cell)
					}
				}
			}
		})
	}
}

func TestWithin(t *testing.T) {
	for _, c := range []struct {
		name               string
		places, room, want []float64
	}{
		{"none", nil, nil, nil},
		{"inside", []float64{20, 50}, []float64{10, 10}, []float64{20, 50}},
		{"left end", []float64{-5, 5}, []float64{10, 10}, []float64{5, 15}},
		{"right end", []float64{50, 99, 109}, []float64{10, 10, 10}, []float64{50, 85, 95}},
		{"too many", []float64{40, 50, 60}, []float64{40, 40, 40}, []float64{0, 40, 80}},
	} {
		if got := within(slices.Clone(c.places), c.room, 0, 100); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

func TestSpread(t *testing.T) {
	for _, c := range []struct {
		name               string
		wanted, room, want []float64
	}{
		{"none", nil, nil, nil},
		{"apart", []float64{0, 100}, []float64{10, 10}, []float64{0, 100}},
		{"touching", []float64{0, 10}, []float64{10, 10}, []float64{0, 10}},
		{"two at once", []float64{50, 50}, []float64{10, 10}, []float64{45, 55}},
		{"pool grows backwards", []float64{0, 12, 13, 13}, []float64{10, 10, 10, 10}, []float64{-5.5, 4.5, 14.5, 24.5}},
		{"different rooms", []float64{0, 0}, []float64{10, 30}, []float64{-10, 10}},
	} {
		got := spread(c.wanted, c.room)
		const tolerance = 1e-9 // rounding only
		for i := range c.want {
			if len(got) != len(c.want) || math.Abs(got[i]-c.want[i]) > tolerance {
				t.Errorf("%s: %v, want %v", c.name, got, c.want)
				break
			}
		}
	}
}

func TestPieces(t *testing.T) {
	const x, o = true, false
	for _, c := range []struct {
		ok   []bool
		want string
	}{
		{nil, ""}, {[]bool{o}, ""}, {[]bool{x}, "0-1 "},
		{[]bool{x, x, o, x, o, o, x, x}, "0-2 3-4 6-8 "}, {[]bool{o, x, x, o}, "1-3 "},
	} {
		got := ""
		pieces(len(c.ok), func(i int) bool { return c.ok[i] }, func(from, to int) { got += fmt.Sprintf("%d-%d ", from, to) })
		if got != c.want {
			t.Errorf("%v: %q, want %q", c.ok, got, c.want)
		}
	}
}

func TestAxis(t *testing.T) {
	curve := func(db ...float64) []Curve {
		return []Curve{{FreqHz: []float64{100, 1000, 5000}[:len(db)], DB: db}}
	}
	for _, c := range []struct {
		name     string
		panel    Panel
		maxTicks float64
		min, max float64
		labels   string
	}{
		{"nothing", Panel{}, 6, -3, 3, "−3 −2 −1 0 1 2 3 "},
		{"flat", Panel{Curves: curve(-20, -20)}, 5, -23, -17, "−22 −20 −18 "},
		{"difference", Panel{ZeroLine: true, Curves: curve(-2.1, 3.4)}, 5, -3, 4, "−2 0 +2 +4 "},
		{"zero kept", Panel{ZeroLine: true, Curves: curve(4, 5)}, 5, -1, 6, "0 +2 +4 +6 "},
		{"steep", Panel{ZeroLine: true, Curves: curve(-20, 20)}, 6, -25, 25, "−20 −10 0 +10 +20 "},
		{"stated", Panel{YMinDB: -70, YMaxDB: -10, Curves: curve(40)}, 4, -70, -10, "−60 −40 −20 "},
		{"small span", Panel{MinSpanDB: 1, Curves: curve(0)}, 5, -0.5, 0.5, "−0.4 −0.2 0.0 0.2 0.4 "},
		{"numbers that the ends just miss", Panel{YMinDB: -19, YMaxDB: 18, Curves: curve(4)}, 3, -19, 18, "−10 0 10 "},
		{"outside left out", Panel{Curves: []Curve{{FreqHz: []float64{1, 100, 30000}, DB: []float64{90, 2, -90}}}}, 6, -1, 5, "−1 0 1 2 3 4 5 "},
	} {
		a := c.panel.axis(c.maxTicks, 300)
		labels := ""
		for _, db := range a.ticks() {
			labels += a.label(db, c.panel.ZeroLine) + " "
		}
		const tolerance = 1e-9 // rounding only
		if math.Abs(a.min-c.min) > tolerance || math.Abs(a.max-c.max) > tolerance || labels != c.labels {
			t.Errorf("%s: %g to %g with %q, want %g to %g with %q", c.name, a.min, a.max, labels, c.min, c.max, c.labels)
		}
	}
}

// TestCapitals checks that labels have capitals of 13 pixels at the default size, by the
// flat top of the letter H.
func TestCapitals(t *testing.T) {
	l := vector.NewLetters(false)
	top := 0.0
	for _, comp := range l.Path("H", textSize, vg.Point{}) {
		top = math.Max(top, float64(comp.Pos.Y))
	}
	if least := 12.3; top < least { // 13 when drawn on whole pixels
		t.Errorf("capitals are %.2f pixels high, want at least %.1f", top, least)
	}
}
