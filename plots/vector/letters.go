package vector

import (
	"slices"
	"strings"
	"unicode"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/norm"
	"gonum.org/v1/plot/font/liberation"
	"gonum.org/v1/plot/vg"
)

// missingGlyph, WHITE SQUARE, is drawn for every letter that the typeface lacks.
const missingGlyph = '□'

// Letters sets text in one font of Liberation Sans, regular or bold, as outlines. They can be
// rotated and scaled without blur, and no drawing surface needs the font itself. Widths are
// in ems. It caches glyphs, so it serves one goroutine.
type Letters struct {
	font   *sfnt.Font
	bold   bool
	buf    sfnt.Buffer
	unit   float64 // font units per em
	glyphs map[rune]glyph
	kerns  map[[2]rune]float64
}

type glyph struct {
	index   sfnt.GlyphIndex
	advance float64
	outline sfnt.Segments // font units, y downwards
}

// NewLetters returns the regular or the bold font.
func NewLetters(bold bool) *Letters {
	name := "LiberationSans-Regular"
	if bold {
		name = "LiberationSans-Bold"
	}
	for _, face := range liberation.Collection() {
		if face.Name() == name {
			return &Letters{
				font:   face.Face,
				bold:   bold,
				unit:   float64(face.Face.UnitsPerEm()),
				glyphs: map[rune]glyph{},
				kerns:  map[[2]rune]float64{},
			}
		}
	}
	panic("vector: no typeface " + name)
}

// glyph returns r's glyph, or that of missingGlyph if the typeface has none.
func (l *Letters) glyph(r rune) glyph {
	g, ok := l.glyphs[r]
	if ok {
		return g
	}
	ppem := fixed.Int26_6(l.unit) // at this size the raw 26.6 numbers are font units
	if g.index, _ = l.font.GlyphIndex(&l.buf, r); g.index == 0 {
		g.index, _ = l.font.GlyphIndex(&l.buf, missingGlyph)
	}
	if advance, err := l.font.GlyphAdvance(&l.buf, g.index, ppem, 0); err == nil {
		g.advance = float64(advance) / l.unit
	}
	if segments, err := l.font.LoadGlyph(&l.buf, g.index, ppem, nil); err == nil {
		g.outline = append(sfnt.Segments(nil), segments...)
	}
	l.glyphs[r] = g
	return g
}

// kern returns the kerning between two letters in ems.
func (l *Letters) kern(a, b rune) float64 {
	pair := [2]rune{a, b}
	k, ok := l.kerns[pair]
	if !ok {
		raw, err := l.font.Kern(&l.buf, l.glyph(a).index, l.glyph(b).index, fixed.Int26_6(l.unit), 0)
		if err == nil {
			k = float64(raw) / l.unit
		}
		l.kerns[pair] = k
	}
	return k
}

// Width returns the width of one line of printable text in ems.
func (l *Letters) Width(txt string) float64 {
	w, last := 0.0, rune(-1)
	for _, r := range txt {
		if last >= 0 {
			w += l.kern(last, r)
		}
		w += l.glyph(r).advance
		last = r
	}
	return w
}

// Path returns the outline of one line of printable text in type of a size, starting from at
// on the baseline.
func (l *Letters) Path(txt string, size vg.Length, at vg.Point) vg.Path {
	var p vg.Path
	last := rune(-1)
	for _, r := range txt {
		if last >= 0 {
			at.X += vg.Length(l.kern(last, r)) * size
		}
		g := l.glyph(r)
		p = append(p, g.path(float64(size)/l.unit, at)...)
		at.X += vg.Length(g.advance) * size
		last = r
	}
	return p
}

// path returns the outline at a place on the baseline, with font units multiplied by scale.
func (g glyph) path(scale float64, at vg.Point) vg.Path {
	var p vg.Path
	point := func(q fixed.Point26_6) vg.Point {
		return vg.Point{X: at.X + vg.Length(scale*float64(q.X)), Y: at.Y - vg.Length(scale*float64(q.Y))}
	}
	for i, s := range g.outline {
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			if i > 0 {
				p.Close()
			}
			p.Move(point(s.Args[0]))
		case sfnt.SegmentOpLineTo:
			p.Line(point(s.Args[0]))
		case sfnt.SegmentOpQuadTo:
			p.QuadTo(point(s.Args[0]), point(s.Args[1]))
		case sfnt.SegmentOpCubeTo:
			p.CubeTo(point(s.Args[0]), point(s.Args[1]), point(s.Args[2]))
		}
	}
	if len(p) > 0 {
		p.Close()
	}
	return p
}

// run is a part of a text of which the typeface has all letters, or none.
type run struct {
	txt     string
	lacking bool // whether the typeface has none of them
}

// runs splits printable text into runs.
func (l *Letters) runs(txt string) (all []run) {
	for _, r := range txt {
		if lacking := l.lacks(r); len(all) == 0 || all[len(all)-1].lacking != lacking {
			all = append(all, run{string(r), lacking})
		} else {
			all[len(all)-1].txt += string(r)
		}
	}
	return all
}

// lacks reports whether the typeface lacks a letter.
func (l *Letters) lacks(r rune) bool {
	return r != missingGlyph && l.glyph(r).index == l.glyph(missingGlyph).index
}

// Lack reports whether the typeface lacks any letter of a text. Such letters are drawn as
// boxes.
func (l *Letters) Lack(txt string) bool {
	return slices.ContainsFunc(l.runs(l.Printable(txt)), func(r run) bool { return r.lacking })
}

// NoBreak is the no-break space, at which lines are not broken.
const NoBreak = '\u00a0'

// Printable returns txt as one line that can be set: composed (NFC), with white space
// replaced by single blanks, and without invisible formatting characters. Text that is
// printable already is returned unchanged.
func (l *Letters) Printable(txt string) string {
	var out []rune
	for _, r := range norm.NFC.String(txt) {
		switch {
		case unicode.IsSpace(r):
			if r != NoBreak {
				r = ' '
			}
			if n := len(out); n > 0 && out[n-1] != ' ' && out[n-1] != NoBreak {
				out = append(out, r)
			}
		case unicode.Is(unicode.Cf, r), unicode.Is(unicode.Variation_Selector, r):
		default:
			out = append(out, r)
		}
	}
	return strings.TrimRightFunc(string(out), unicode.IsSpace)
}
