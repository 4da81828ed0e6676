package vector

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/image/font/sfnt"
	"gonum.org/v1/plot/vg"
)

// pdfFace is a typeface of up to 256 letters inside a document: a Type 3 font whose letters
// are the same outlines that PNG and SVG fill, with the Unicode of each letter for search and
// copy. The outlines start with d0, so that the current colour applies. After d1, some
// programs cache a picture of each letter and place it on whole pixels.
// Source: ISO 32000-1:2008, 9.6.5 Type 3 fonts, 9.10.3 ToUnicode CMaps; those after
// Adobe Technical Note 5411.
type pdfFace struct {
	cut   *Letters
	runes []rune // by code
}

// mostCodes is the largest number of letters in a simple font, 9.6.1.
const mostCodes = 256

func pdfFontName(face int) string { return "F" + strconv.Itoa(face) }

// letter returns the face and the code of a letter; it adds a new letter.
func (d *PDF) letter(l *Letters, r rune) (face, code int) {
	at, known := d.codes[pdfLetter{l.bold, r}]
	if known {
		return at / mostCodes, at % mostCodes
	}
	// From the second face on, halfEm has several codes; it does not matter which is used.
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

// halfEm is the first letter of every face and the only one with its standard name. poppler
// (22.12) assumes that the first letter with such a name is half an em wide, and this one
// nearly is. With another letter it would take the type for larger than it is and lose narrow
// blanks between words.
const halfEm = 'c'

// name returns the name of the letter with a code.
func (f *pdfFace) name(code int) string {
	if code == 0 {
		return string(halfEm)
	}
	return "g" + strconv.Itoa(code)
}

// pdfLetter is a letter of the regular or the bold font.
type pdfLetter struct {
	bold bool
	r    rune
}

// writeTo writes the face and returns its object number.
func (f *pdfFace) writeTo(d *PDF) int {
	var procs, names, widths strings.Builder
	drawn := map[sfnt.GlyphIndex]int{} // boxes are drawn once
	var box [4]int                     // of all outlines, in font units: left, bottom, right, top
	for code, r := range f.runes {
		g := f.cut.glyph(r)
		width := strconv.FormatFloat(g.advance*f.cut.unit, 'f', -1, 64)
		if drawn[g.index] == 0 {
			drawn[g.index] = d.stream(appendOutline([]byte(width+" 0 d0\n"), g.path(1, vg.Point{}), &box))
		}
		fmt.Fprintf(&procs, "/%s %d 0 R", f.name(code), drawn[g.index])
		names.WriteString("/" + f.name(code))
		widths.WriteString(width + " ")
	}
	n, unicodes := d.reserve(), d.stream(f.unicodes())
	d.object(n, fmt.Sprintf("<</Type/Font/Subtype/Type3/FontBBox[%d %d %d %d]/FontMatrix[%[5]s 0 0 %[5]s 0 0]/Resources<<>>"+
		"/FirstChar 0/LastChar %d/Widths[%s]/Encoding<</Type/Encoding/Differences[0%s]>>/CharProcs<<%s>>/ToUnicode %d 0 R>>",
		box[0], box[1], box[2], box[3], strconv.FormatFloat(1/f.cut.unit, 'f', -1, 64),
		len(f.runes)-1, &widths, &names, &procs, unicodes))
	return n
}

// appendOutline appends the operators that fill a path in font units, and extends box by it.
func appendOutline(dst []byte, p vg.Path, box *[4]int) []byte {
	if len(p) == 0 {
		return dst
	}
	dst = appendPath(dst, p, func(q vg.Point) vg.Point {
		x, y := int(q.X), int(q.Y)
		*box = [4]int{min(box[0], x), min(box[1], y), max(box[2], x), max(box[3], y)}
		return q
	})
	return append(dst, "f\n"...)
}

// unicodes returns the CMap from codes to Unicode.
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

// legible returns r, but a normal blank for NoBreak, so that a search finds it, and U+FFFD
// for control characters.
func legible(r rune) rune {
	if r == NoBreak {
		return ' '
	}
	if unicode.Is(unicode.Cc, r) {
		return unicode.ReplacementChar
	}
	return r
}

// oneLine returns text on one line without control characters.
func oneLine(txt string) string {
	return strings.Map(legible, strings.Join(strings.Fields(txt), " "))
}
