package plots

import (
	"image/color"
	"math"
	"testing"
)

// luminance is the relative luminance of an opaque sRGB colour.
// Source: W3C, Web Content Accessibility Guidelines 2.1, definition of
// relative luminance.
func luminance(c color.NRGBA) float64 {
	linear := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.03928 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
}

// contrast is the contrast ratio, 1 to 21, of two colours.
// Source: as above, definition of contrast ratio.
func contrast(a, b color.NRGBA) float64 {
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

// over returns a translucent colour drawn on an opaque one.
func over(c, paper color.NRGBA) color.NRGBA {
	mix := func(a, b uint8) uint8 {
		return uint8((int(a)*int(c.A) + int(b)*(255-int(c.A))) / 255)
	}
	return color.NRGBA{mix(c.R, paper.R), mix(c.G, paper.G), mix(c.B, paper.B), 255}
}

const (
	textContrast  = 4.5  // WCAG 2.1, 1.4.3 contrast (minimum), level AA
	lineContrast  = 3.0  // WCAG 2.1, 1.4.11 non-text contrast
	hatchContrast = 1.7  // our choice: light hatching has 1.86 and is seen, yet stands back
	fillContrast  = 1.25 // our choice: light grey fill has 1.29
	gridContrast  = 1.2  // our choice: no information is lost without the grid
)

func TestContrast(t *testing.T) {
	// Black on white is 21 by the definition.
	if got := contrast(color.NRGBA{A: 255}, color.NRGBA{255, 255, 255, 255}); math.Abs(got-21) > 1e-9 {
		t.Fatalf("black on white has %g, want 21", got)
	}
	for _, c := range []struct {
		name  string
		tones tones
		pale  map[Colour]bool // published colours too pale for lines on white
	}{
		{"light", light, map[Colour]bool{Orange: true, SkyBlue: true, Yellow: true}},
		{"dark", dark, nil},
	} {
		check := func(what string, on, colour color.NRGBA, least float64) {
			t.Helper()
			got := contrast(colour, on)
			t.Logf("%s: %s %.2f", c.name, what, got)
			if got < least {
				t.Errorf("%s: %s has contrast %.2f, want at least %g", c.name, what, got, least)
			}
		}
		paper := c.tones.paper
		check("words", paper, c.tones.ink, textContrast)
		check("soft words", paper, c.tones.softInk, textContrast)
		check("hair", paper, c.tones.hair, lineContrast)
		check("hatch", paper, c.tones.hatch, hatchContrast)
		check("grid", paper, c.tones.grid, gridContrast)
		fill := c.tones.curves[Grey]
		fill.A = c.tones.fillAlpha
		check("grey fill", paper, over(fill, paper), fillContrast)
		for i, colour := range c.tones.curves {
			least := lineContrast
			if c.pale[Colour(i)] {
				least = 1
			}
			check("curve "+[...]string{"black", "orange", "sky blue", "bluish green", "yellow", "blue", "vermillion", "reddish purple", "grey"}[i], paper, colour, least)
			// Lines cross the fill of an interval.
			if !c.pale[Colour(i)] && Colour(i) != Grey && c.name == "dark" {
				check("the same on grey fill", over(fill, paper), colour, lineContrast)
			}
		}
	}
}

// TestDarkTellsApart: no two of the lightened colours are nearer to each other than the two
// nearest of the published ones.
func TestDarkTellsApart(t *testing.T) {
	nearest := func(set [Grey + 1]color.NRGBA) (least int) {
		least = math.MaxInt
		squared := func(a, b uint8) int { return (int(a) - int(b)) * (int(a) - int(b)) }
		for i, a := range set {
			for _, b := range set[:i] {
				least = min(least, squared(a.R, b.R)+squared(a.G, b.G)+squared(a.B, b.B))
			}
		}
		return least
	}
	if l, d := nearest(light.curves), nearest(dark.curves); d < l {
		t.Errorf("nearest two dark colours are %.0f levels apart, light ones %.0f", math.Sqrt(float64(d)), math.Sqrt(float64(l)))
	}
}
