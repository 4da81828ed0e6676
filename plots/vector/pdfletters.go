package vector

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"gonum.org/v1/plot/vg"
)

// pdfFace is a typeface of up to 256 letters inside a document: a Type 3 font,
// whose letters are the outlines that PNG and SVG fill, with what each letter means
// for whoever searches or copies. They begin with d0, in the colour that is in force:
// after d1 some programs keep a picture of each letter and set it on whole pixels.
// Source: ISO 32000-1:2008, 9.6.5 Type 3 fonts, 9.10.3 ToUnicode CMaps; those after
// Adobe Technical Note 5411.
type pdfFace struct {
	cut   *Letters
	runes []rune // by code
}

// mostCodes is how many letters a simple font holds, 9.6.1.
const mostCodes = 256

func pdfFontName(face int) string { return "F" + strconv.Itoa(face) }

// letter returns the face and the code of a letter, and adds it where it is new.
func (d *PDF) letter(l *Letters, r rune) (face, code int) {
	at, known := d.codes[pdfLetter{l.bold, r}]
	if known {
		return at / mostCodes, at % mostCodes
	}
	// Of the second face on, halfEm has two codes, and it does not matter which is used.
	face = -1
	for i, f := range d.faces {
		if f.cut.bold == l.bold && len(f.runes) < mostCodes {
			face = i
		}
	}
	if face < 0 {
		face = len(d.faces)
		d.faces = append(d.faces, &pdfFace{cut: l})
		d.add(face, halfEm)
	}
	return face, d.add(face, r)
}

// add gives a letter the next code of a face.
func (d *PDF) add(face int, r rune) (code int) {
	f := d.faces[face]
	code = len(f.runes)
	f.runes = append(f.runes, r)
	d.codes[pdfLetter{f.cut.bold, r}] = face*mostCodes + code
	return code
}

// halfEm is the first letter of every face and the only one named by itself. It is
// about half an em wide, and poppler (22.12) takes that for the width of the first
// letter with such a name: of another it would think the type larger than it is and
// lose narrow blanks when it puts words together.
const halfEm = 'c'

// name of the letter with a code.
func (f *pdfFace) name(code int) string {
	if code == 0 {
		return string(halfEm)
	}
	return "g" + strconv.Itoa(code)
}

// pdfLetter is a letter of one of the two cuts.
type pdfLetter struct {
	bold bool
	r    rune
}

// writeTo writes the face and returns its number.
func (f *pdfFace) writeTo(d *PDF) int {
	var procs, names, widths strings.Builder
	drawn := map[sfnt.GlyphIndex]int{} // boxes are drawn once
	var box glyphBox
	for code, r := range f.runes {
		g := f.cut.glyph(r)
		width := strconv.FormatFloat(g.advance*f.cut.unit, 'f', -1, 64)
		if drawn[g.index] == 0 {
			drawn[g.index] = d.stream([]byte(width + " 0 d0\n" + box.operators(g.outline)))
		}
		fmt.Fprintf(&procs, "/%s %d 0 R", f.name(code), drawn[g.index])
		names.WriteString("/" + f.name(code))
		widths.WriteString(width + " ")
	}
	n, unicodes := d.reserve(), d.stream(f.unicodes())
	d.object(n, fmt.Sprintf("<</Type/Font/Subtype/Type3/FontBBox[%d %d %d %d]/FontMatrix[%[5]s 0 0 %[5]s 0 0]/Resources<<>>"+
		"/FirstChar 0/LastChar %d/Widths[%s]/Encoding<</Type/Encoding/Differences[0%s]>>/CharProcs<<%s>>/ToUnicode %d 0 R>>",
		box.x0, box.y0, box.x1, box.y1, strconv.FormatFloat(1/f.cut.unit, 'f', -1, 64),
		len(f.runes)-1, &widths, &names, &procs, unicodes))
	return n
}

// glyphBox holds all outlines, in font units.
type glyphBox struct{ x0, y0, x1, y1 int }

// operators returns an outline as it is filled, in font units with y upwards.
func (b *glyphBox) operators(outline sfnt.Segments) string {
	var out bytes.Buffer
	var last vg.Point
	write := func(operator string, points ...vg.Point) {
		for _, p := range points {
			out.Write(append(appendHundredths(nil, hundredths(p.X)), ' '))
			out.Write(append(appendHundredths(nil, hundredths(p.Y)), ' '))
			b.x0, b.x1 = min(b.x0, int(p.X)), max(b.x1, int(p.X))
			b.y0, b.y1 = min(b.y0, int(p.Y)), max(b.y1, int(p.Y))
		}
		out.WriteString(operator + "\n")
		last = points[len(points)-1]
	}
	point := func(q fixed.Point26_6) vg.Point { return vg.Point{X: vg.Length(q.X), Y: -vg.Length(q.Y)} }
	for i, s := range outline {
		switch p := point(s.Args[0]); s.Op {
		case sfnt.SegmentOpMoveTo:
			if i > 0 {
				out.WriteString("h\n")
			}
			write("m", p)
		case sfnt.SegmentOpLineTo:
			write("l", p)
		case sfnt.SegmentOpQuadTo:
			to := point(s.Args[1])
			write("c", append(raised(last, p, to), to)...)
		case sfnt.SegmentOpCubeTo:
			write("c", p, point(s.Args[1]), point(s.Args[2]))
		}
	}
	if len(outline) > 0 {
		out.WriteString("f\n")
	}
	return out.String()
}

// unicodes returns what each code means.
func (f *pdfFace) unicodes() []byte {
	var out bytes.Buffer
	out.WriteString("/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n" +
		"/CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def\n" +
		"/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n" +
		"1 begincodespacerange\n<00> <FF>\nendcodespacerange\n")
	const most = 100 // entries in a row, Technical Note 5014
	for from := 0; from < len(f.runes); from += most {
		some := f.runes[from:min(from+most, len(f.runes))]
		fmt.Fprintf(&out, "%d beginbfchar\n", len(some))
		for i, r := range some {
			fmt.Fprintf(&out, "<%02X> <%s>\n", from+i, pdfText(string(legible(r))))
		}
		out.WriteString("endbfchar\n")
	}
	out.WriteString("endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n")
	return out.Bytes()
}

// legible returns r, a plain blank for NoBreak, which nobody looks for, and U+FFFD for
// what is no letter at all.
func legible(r rune) rune {
	if r == NoBreak {
		return ' '
	}
	if unicode.Is(unicode.Cc, r) {
		return unicode.ReplacementChar
	}
	return r
}

// oneLine returns text without control characters.
func oneLine(txt string) string {
	return strings.Map(legible, strings.Join(strings.Fields(txt), " "))
}
