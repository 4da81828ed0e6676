package vector_test

import (
	"fmt"
	"image/color"
	"log"
	"strings"

	"gonum.org/v1/plot/vg"

	"toneplumb/plots/vector"
)

// A line as SVG, whose y runs downwards.
func Example() {
	c := vector.NewSVG(vector.Sheet{WidthPx: 100, HeightPx: 50, DPI: 100, Title: "a line", Paper: color.NRGBA{255, 255, 255, 255}})
	var p vg.Path
	p.Move(vg.Point{X: 10, Y: 10})
	p.Line(vg.Point{X: 90, Y: 40})
	c.SetLineWidth(2)
	c.Stroke(p)
	var file strings.Builder
	if _, err := c.WriteTo(&file); err != nil {
		log.Fatal(err)
	}
	fmt.Println(strings.Contains(file.String(), `d="M10 40l80-30"`))
	// Output: true
}
