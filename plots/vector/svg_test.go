package vector

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
)

func TestHundredths(t *testing.T) {
	for n, want := range map[int]string{
		0: "0", 1: ".01", 10: ".1", 12: ".12", 100: "1", 101: "1.01", 1250: "12.5", -5: "-.05", -100: "-1", -1234: "-12.34",
	} {
		if got := string(appendHundredths(nil, n)); got != want {
			t.Errorf("%d: %q, want %q", n, got, want)
		}
	}
}

// Letters that the typeface lacks are text in an SVG, in the place and with the width of the
// boxes in other formats. All other letters are outlines.
func TestSVGLackingLetters(t *testing.T) {
	draw := func(txt string) string {
		l := NewLetters(false)
		c := NewSVG(Sheet{WidthPx: 200, HeightPx: 100, DPI: 100})
		c.Rotate(math.Pi / 2)
		c.Words(l, txt, 10, vg.Point{X: 20, Y: -30})
		var b strings.Builder
		if _, err := c.WriteTo(&b); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	width := NewLetters(false).Width("□□") * 10
	want := fmt.Sprintf(`x="30" y="80" transform="rotate(-90 30 80)" font-family="sans-serif" font-size="10" textLength="%.4g" lengthAdjust="spacingAndGlyphs">練習</text>`, width)
	if got := draw("練習 < mix"); !strings.Contains(got, want) || strings.Count(got, "<text") != 1 {
		t.Errorf("%s\nwant %s", got, want)
	}
	if got := draw("mix □"); strings.Contains(got, "<text") {
		t.Errorf("text where outlines do: %s", got)
	}
	for txt, want := range map[string]bool{"練": true, "dernière": false, "a □": false, "": false} {
		if got := NewLetters(true).Lack(txt); got != want {
			t.Errorf("%q: %v", txt, got)
		}
	}
}
