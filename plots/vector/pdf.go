package vector

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"image/color"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"
	"unicode/utf16"
)

// PDF writes a PDF document. Text can be searched and copied, including letters that the
// typeface lacks, which are drawn as boxes. Its parts are tagged for screen readers, see
// [Reader]. The document has no date: the same pages give the same bytes. Pages are written
// one after the other, so that memory does not grow with their number.
//
// Source of the file format: ISO 32000-1:2008, 7.5 file structure, 7.7 document
// structure, 8.5 paths; for the letters see pdfFace.
type PDF struct {
	w       io.Writer
	err     error // the first error of w
	at      int   // bytes written
	objects []int // offset of each object; that of object n is at n−1
	pages   []int // object numbers of the pages
	// Of each page the part that holds all others, and the list of the parts of its content.
	sections, owners []int
	faces            []*pdfFace
	codes            map[pdfLetter]int // face·mostCodes + code
	alphas           map[uint8]bool    // the opacities used
}

// Numbers of the objects that others refer to before they are written.
const (
	pdfCatalog = 1 + iota
	pdfPages
	pdfResources
	pdfInfo
	pdfTree     // of the parts
	pdfDocument // the part that holds all pages
	pdfFirstFree
)

// NewPDF starts a document. After the pages, call [PDF.Close].
func NewPDF(w io.Writer) *PDF {
	d := &PDF{w: w, objects: make([]int, pdfFirstFree-1), codes: map[pdfLetter]int{}, alphas: map[uint8]bool{255: true}}
	// Four bytes above 127 show that the file is not text, 7.5.2.
	d.write("%PDF-1.4\n%\xe2\xe3\xcf\xd3\n")
	return d
}

func (d *PDF) write(text string) {
	if d.err == nil {
		_, d.err = io.WriteString(d.w, text)
	}
	d.at += len(text)
}

// reserve returns the number of an object to be written later.
func (d *PDF) reserve() int {
	d.objects = append(d.objects, 0)
	return len(d.objects)
}

// object writes an object under its number.
func (d *PDF) object(n int, body string) {
	d.objects[n-1] = d.at
	d.write(strconv.Itoa(n) + " 0 obj\n" + body + "\nendobj\n")
}

// stream writes a compressed stream and returns its object number.
func (d *PDF) stream(content []byte) int {
	var packed bytes.Buffer
	z, err := zlib.NewWriterLevel(&packed, zlib.BestCompression)
	if err == nil {
		_, err = z.Write(content)
	}
	if err == nil {
		err = z.Close()
	}
	if d.err == nil {
		d.err = err
	}
	n := d.reserve()
	d.object(n, fmt.Sprintf("<</Filter/FlateDecode/Length %d>>stream\n%s\nendstream", packed.Len(), packed.Bytes()))
	return n
}

// Page adds a page with the printed size of the sheet and calls draw to draw on it. The error
// is draw's or the writer's.
func (d *PDF) Page(s Sheet, draw func(Surface) error) error {
	c := newPDFPage(d)
	if err := draw(c); err != nil {
		return err
	}
	c.unmark()
	const pointsPerInch = 72
	points := func(px int) string { return strconv.FormatFloat(float64(px)*pointsPerInch/s.DPI, 'f', 3, 64) }
	var content bytes.Buffer
	fmt.Fprintf(&content, "%[1]s 0 0 %[1]s 0 0 cm 1 j\n", strconv.FormatFloat(pointsPerInch/s.DPI, 'f', 6, 64))
	if white := (color.NRGBA{255, 255, 255, 255}); s.Paper != white {
		fmt.Fprintf(&content, "%s%srg 0 0 %d %d re f\nEMC\n", pdfDecoration, pdfColour(s.Paper), s.WidthPx, s.HeightPx)
	}
	content.Write(c.body.Bytes())
	body := d.stream(content.Bytes())
	n := d.reserve()
	d.object(n, fmt.Sprintf("<</Type/Page/Parent %d 0 R/MediaBox[0 0 %s %s]/Resources %d 0 R/Contents %d 0 R/StructParents %d>>",
		pdfPages, points(s.WidthPx), points(s.HeightPx), pdfResources, body, len(d.pages)))
	d.pages = append(d.pages, n)
	d.writeParts(c, n, pointsPerInch/s.DPI)
	return d.err
}

// Close writes the objects that all pages share, the title, and the table of objects. The
// error is the writer's first.
func (d *PDF) Close(title string) error {
	var fonts, states, kids strings.Builder
	for i, face := range d.faces {
		fmt.Fprintf(&fonts, "/%s %d 0 R", pdfFontName(i), face.writeTo(d))
	}
	for _, alpha := range slices.Sorted(maps.Keys(d.alphas)) {
		fmt.Fprintf(&states, "/%s<</ca %[2]s/CA %[2]s>>", pdfStateName(alpha), pdfShare(alpha))
	}
	for _, n := range d.pages {
		fmt.Fprintf(&kids, "%d 0 R ", n)
	}
	d.object(pdfResources, fmt.Sprintf("<</Font<<%s>>/ExtGState<<%s>>>>", &fonts, &states))
	d.object(pdfPages, fmt.Sprintf("<</Type/Pages/Count %d/Kids[%s]>>", len(d.pages), &kids))
	d.object(pdfInfo, "<</Title <"+pdfText("\ufeff"+oneLine(title))+">>>")
	d.writeTree()
	d.object(pdfCatalog, fmt.Sprintf("<</Type/Catalog/Pages %d 0 R/Lang(en-GB)/MarkInfo<</Marked true>>/StructTreeRoot %d 0 R/ViewerPreferences<</DisplayDocTitle true>>>>", pdfPages, pdfTree))
	start := d.at
	d.write(fmt.Sprintf("xref\n0 %d\n0000000000 65535 f \n", len(d.objects)+1))
	for _, at := range d.objects {
		d.write(fmt.Sprintf("%010d 00000 n \n", at))
	}
	d.write(fmt.Sprintf("trailer\n<</Size %d/Root %d 0 R/Info %d 0 R>>\nstartxref\n%d\n%%%%EOF\n", len(d.objects)+1, pdfCatalog, pdfInfo, start))
	return d.err
}

// pdfText returns text as big-endian UTF-16 in hexadecimal digits.
func pdfText(txt string) string {
	var out strings.Builder
	for _, unit := range utf16.Encode([]rune(txt)) {
		fmt.Fprintf(&out, "%04X", unit)
	}
	return out.String()
}
