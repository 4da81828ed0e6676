package plots

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"testing"

	"toneplumb/plots/vector"

	"gonum.org/v1/plot/vg"
)

// maxShift is the largest change of a pixel by the palette, in levels of 255 per
// channel, and meanShift the largest mean over all pixels. Our choice: an eighth of the
// way from ink to paper at the edge of a letter is invisible.
const (
	maxShift  = 32
	meanShift = 0.1
)

func TestPaletteKeepsColours(t *testing.T) {
	for _, c := range uglyFigures() {
		switch c.name {
		case "long-names", "small", "wide-hatched-edge", "interval-gaps": // the most colours
		default:
			continue
		}
		for _, c.fig.Dark = range []bool{false, true} {
			t.Run(fmt.Sprintf("%s, dark %v", c.name, c.fig.Dark), func(t *testing.T) {
				g := c.fig.withDefaults()
				g.WidthPx, g.HeightPx = g.WidthPx/3*2, g.HeightPx/3*2
				width, height := vg.Length(g.WidthPx), vg.Length(g.HeightPx)
				canvas := vector.NewPicture(g.paper())
				if err := g.draw(canvas, width, height); err != nil {
					t.Fatal(err)
				}
				var file bytes.Buffer
				if _, err := canvas.WriteTo(&file); err != nil {
					t.Fatal(err)
				}
				few, err := png.Decode(&file)
				if err != nil {
					t.Fatal(err)
				}
				worst, mean := shifts(canvas.Image(), few)
				t.Logf("largest shift %d, mean %.4f", worst, mean)
				if worst > maxShift || mean > meanShift {
					t.Errorf("largest shift %d, mean %.4f; want at most %d and %.2f", worst, mean, maxShift, meanShift)
				}
			})
		}
	}
}

// shifts returns the largest and the mean difference of two pictures of the same
// size, in levels of 255.
func shifts(a, b image.Image) (worst int, mean float64) { return shiftsIn(a, b, a.Bounds()) }

// shiftsIn is shifts inside a rectangle of both.
func shiftsIn(a, b image.Image, r image.Rectangle) (worst int, mean float64) {
	size := r.Size()
	total := 0
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			r0, g0, b0, _ := a.At(x, y).RGBA()
			r1, g1, b1, _ := b.At(x, y).RGBA()
			d := max(shift(r0, r1), shift(g0, g1), shift(b0, b1))
			worst = max(worst, d)
			total += d
		}
	}
	return worst, float64(total) / float64(size.X*size.Y)
}

func shift(a, b uint32) int {
	d := int(a>>8) - int(b>>8)
	return max(d, -d)
}
