package plots

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/spectrum/testkit"
)

// TestPDFIsReadAloud asks poppler (22.12) for the parts of a document as programs that read
// aloud find them, and qpdf, where it is, whether the file is sound.
// Source of the structure: ISO 32000-1:2008, 14.7 and 14.8.
func TestPDFIsReadAloud(t *testing.T) {
	testkit.Tool(t, "pdfinfo")
	f := mainFigure(testMoves())
	f.Paper, f.WidthPx, f.HeightPx = true, 1240, 1754
	f.Table.Under = make([]string, len(f.Table.Rows))
	f.Table.Under[0] = "the reason of the first move"
	f.Paragraphs = []Paragraph{{Heading: "What it shows", Text: []string{strings.Repeat("Words that take more than a line. ", 6)}}}
	file := pdfOf(t, &f, &f)
	name := filepath.Join(t.TempDir(), "page.pdf")
	if err := os.WriteFile(name, file, 0o666); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("pdfinfo", "-struct-text", name).CombinedOutput()
	if err != nil || strings.Contains(string(out), "Error") {
		t.Fatalf("%v\n%s", err, out)
	}
	last := 0
	for _, want := range []string{
		"Document", "  Sect", "    H1 (block)", f.Title, "    P (block)", "    Figure", "    Table (block)", "      TR", "        TH", "shape",
		"        TD", "/ColSpan", "the reason of the first move", "    H2 (block)", "What it shows", "    P (block)", "more than a line. Words that", "  Sect",
	} {
		at := strings.Index(string(out)[last:], want)
		if at < 0 {
			t.Fatalf("no %q where it is due in\n%s", want, out)
		}
		last += at
	}
	// Each page's content is numbered from 0, and each number has its part.
	for _, want := range []string{"/MarkInfo<</Marked true>>", "/StructParents 0", "/StructParents 1", "/Lang(en-GB)", "/Alt<FEFF"} {
		if !bytes.Contains(file, []byte(want)) {
			t.Errorf("no %s", want)
		}
	}
	t.Run("qpdf", func(t *testing.T) {
		testkit.Tool(t, "qpdf")
		if out, err := exec.Command("qpdf", "--check", name).CombinedOutput(); err != nil {
			t.Errorf("%v\n%s", err, out)
		}
	})
}

// What a figure shows is said in words, and by the SVG too.
func TestDescribe(t *testing.T) {
	f := mainFigure(testMoves())
	leaveOut(&f, 8000, 30000, "above the low-pass")
	got := f.describe()
	for _, want := range []string{f.Title, "Diagram: ", "Curves: ", " dB at ", "Left out: 8 kHz to 20 kHz (above the low-pass)", "Marked: 1 at ", "shape " + f.Table.Rows[0][1]} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in %q", want, got)
		}
	}
	f.Title = "so & so"
	var svg bytes.Buffer
	if err := f.WriteSVG(&svg); err != nil || !strings.Contains(svg.String(), "<desc>so &amp; so. Diagram: ") {
		t.Errorf("%v, no description", err)
	}
}
