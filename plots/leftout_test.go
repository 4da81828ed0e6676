package plots

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
)

// TestReasonsKeepClear: a reason inside its span covers no curve and no other reason. All
// other reasons are complete in the key.
func TestReasonsKeepClear(t *testing.T) {
	for _, c := range uglyFigures() {
		for i, size := range sizesFor(c.fig) {
			if testing.Short() && i > 1 {
				break
			}
			f := c.fig
			f.WidthPx, f.HeightPx = size[0], size[1]
			name := fmt.Sprintf("%s at %d×%d", c.name, size[0], size[1])
			width, height := vg.Length(f.WidthPx), vg.Length(f.HeightPx)
			p, err := f.arrange(new(words), width, height)
			if err != nil {
				t.Fatal(err)
			}
			if written := strings.Join(p.keyLines, " "); len(p.key) > 0 && written != "hatched: "+p.key.String() {
				t.Errorf("%s: key is %q, want %q", name, written, p.key)
			}
			for _, d := range p.diagrams {
				var boxes []vg.Rectangle
				for _, sp := range d.panel.LeftOut {
					r, any := d.reasonIn(sp)
					if !any || p.key.letter(sp.Why) != "" {
						continue
					}
					size := vg.Point{X: d.widest(d.soft(noteSize), r.lines), Y: d.lead(d.soft(noteSize), len(r.lines))}
					if r.turn != 0 {
						size.X, size.Y = size.Y, size.X
					}
					box := vg.Rectangle{Min: r.centre.Sub(size.Scale(0.5)), Max: r.centre.Add(size.Scale(0.5))}
					if length := d.lengthIn(box); length > 0 || !r.clear {
						t.Errorf("%s: %q lies on %.1f pixels of lines", name, sp.Why, length)
					}
					for _, b := range boxes {
						if box.Min.X < b.Max.X && b.Min.X < box.Max.X && box.Min.Y < b.Max.Y && b.Min.Y < box.Max.Y {
							t.Errorf("%s: %q overlaps another reason", name, sp.Why)
						}
					}
					boxes = append(boxes, box)
				}
			}
		}
	}
}

func TestKey(t *testing.T) {
	f := mainFigure(testMoves())
	leaveOut(&f, 16000, 20500, "z")
	leaveOut(&f, 5000, 5050, "tone")
	leaveOut(&f, 50, 50.5, "hum")
	leaveOut(&f, 100, 101, "hum")
	leaveOut(&f, 200, 201, "")
	p, err := f.arrange(new(words), 1350, 990)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := p.key.String(), "a – hum; b – tone"; got != want {
		t.Errorf("key is %q, want %q", got, want)
	}
	for why, want := range map[string]string{"hum": "a", "tone": "b", "z": "", "": ""} {
		if got := p.key.letter(why); got != want {
			t.Errorf("letter of %q is %q, want %q", why, got, want)
		}
	}
}

func TestLengthInside(t *testing.T) {
	r := vg.Rectangle{Min: vg.Point{X: 10, Y: 10}, Max: vg.Point{X: 20, Y: 20}}
	for _, c := range []struct {
		a, b vg.Point
		want float64
	}{
		{vg.Point{X: 0, Y: 15}, vg.Point{X: 30, Y: 15}, 10},
		{vg.Point{X: 12, Y: 15}, vg.Point{X: 15, Y: 15}, 3},
		{vg.Point{X: 0, Y: 0}, vg.Point{X: 30, Y: 30}, 10 * math.Sqrt2},
		{vg.Point{X: 30, Y: 30}, vg.Point{X: 15, Y: 15}, 5 * math.Sqrt2},
		{vg.Point{X: 15, Y: 0}, vg.Point{X: 15, Y: 30}, 10},
		{vg.Point{X: 25, Y: 0}, vg.Point{X: 25, Y: 30}, 0},
		{vg.Point{X: 0, Y: 19}, vg.Point{X: 19, Y: 38}, 0},
	} {
		const tolerance = 1e-9 // rounding only
		if got := float64(lengthInside(c.a, c.b, r)); math.Abs(got-c.want) > tolerance {
			t.Errorf("from %v to %v: %g, want %g", c.a, c.b, got, c.want)
		}
	}
}
