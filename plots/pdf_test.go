package plots

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/spectrum/testkit"
)

func pdfOf(t *testing.T, pages ...*Figure) []byte {
	t.Helper()
	var file bytes.Buffer
	if err := WritePDF(&file, pages...); err != nil {
		t.Fatal(err)
	}
	return file.Bytes()
}

// popplerShift is the largest accepted difference of a pixel of the PDF, drawn by poppler,
// from the PNG, in levels of 255, and popplerMean that of the mean over all pixels. Measured
// with poppler 22.12: at most 76 and 0.86. At the size of the PNG, poppler darkens edges and
// moves thin lines onto whole pixels (160 and 1.6). So it draws at popplerFiner times the
// resolution here, and the mean of those pixels is compared.
const (
	// Where the rim of a cased line lies on the edge of another both renderers mix two edges,
	// each in its own order: up to 123 of 255 levels in single pixels.
	popplerShift = 130
	popplerMean  = 1.2
	popplerFiner = 4
)

// drawnPDF returns a page drawn by poppler's pdftoppm.
func drawnPDF(t *testing.T, file []byte, page, widthPx, heightPx int) *image.RGBA {
	t.Helper()
	testkit.Tool(t, "pdftoppm")
	name := filepath.Join(t.TempDir(), "page.pdf")
	if err := os.WriteFile(name, file, 0o666); err != nil {
		t.Fatal(err)
	}
	wide, high := popplerFiner*widthPx, popplerFiner*heightPx
	fine, err := exec.Command("pdftoppm", "-f", fmt.Sprint(page), "-singlefile", "-scale-to-x", fmt.Sprint(wide), "-scale-to-y", fmt.Sprint(high), name).Output()
	if err != nil {
		t.Fatal(err)
	}
	// Portable pixmap, P6: three bytes a pixel after a header in text.
	header := fmt.Sprintf("P6\n%d %d\n255\n", wide, high)
	fine, found := bytes.CutPrefix(fine, []byte(header))
	if !found || len(fine) != 3*wide*high {
		t.Fatalf("drawn as %.20q, want %q", fine, header)
	}
	out := image.NewRGBA(image.Rect(0, 0, widthPx, heightPx))
	for i := range out.Pix {
		if i%4 == 3 {
			out.Pix[i] = 255
			continue
		}
		sum, x, y := 0, i/4%widthPx, i/4/widthPx
		for k := range popplerFiner * popplerFiner {
			sum += int(fine[3*((y*popplerFiner+k/popplerFiner)*wide+x*popplerFiner+k%popplerFiner)+i%4])
		}
		out.Pix[i] = uint8(sum / (popplerFiner * popplerFiner))
	}
	return out
}

// TestPDFLikePNG compares the PDF, drawn by poppler, with the PNG.
func TestPDFLikePNG(t *testing.T) {
	testkit.Skip(t, "draws by other programs")
	for _, c := range uglyFigures() {
		switch c.name {
		case "main", "wide-hatched-edge", "interval-gaps", "grid", "page", "page-to-fill":
		case "small", "long-names", "out-below-100", "tall", "page-sideways":
			if os.Getenv("TONEPLUMB_LONG") == "" {
				continue
			}
		default:
			continue
		}
		for _, c.fig.Dark = range []bool{false, true} {
			if c.fig.Dark && c.name != "main" {
				continue // the same lines in other colours
			}
			t.Run(fmt.Sprintf("%s, dark %v", c.name, c.fig.Dark), func(t *testing.T) {
				f := c.fig.withDefaults()
				got := drawnPDF(t, pdfOf(t, &f), 1, f.WidthPx, f.HeightPx)
				want, err := png.Decode(bytes.NewReader(pngOf(t, f)))
				if err != nil {
					t.Fatal(err)
				}
				worst, mean := shifts(got, want)
				t.Logf("largest shift %d, mean %.3f", worst, mean)
				if worst > popplerShift || mean > popplerMean {
					t.Errorf("largest shift %d, mean %.3f; want at most %d and %.1f", worst, mean, popplerShift, popplerMean)
				}
				// The check must notice a picture that is shifted by one pixel.
				beside := want.(*image.Paletted)
				beside = beside.SubImage(beside.Rect.Inset(1)).(*image.Paletted)
				beside.Rect = beside.Rect.Sub(image.Pt(1, 0))
				if worst, mean := shiftsIn(got, beside, beside.Rect); worst <= popplerShift || mean <= popplerMean {
					t.Errorf("one pixel beside: largest shift %d, mean %.3f; too little to be found", worst, mean)
				}
			})
		}
	}
}

func TestPDFIsTheSameAgain(t *testing.T) {
	f := mainFigure(testMoves())
	if !bytes.Equal(pdfOf(t, &f, &f), pdfOf(t, &f, &f)) {
		t.Error("the same figures gave other bytes")
	}
	if file := string(pdfOf(t, &f)); strings.Contains(file, "Date") {
		t.Error("the document has a date")
	}
}

// TestPDFIsFound searches for words in the output of poppler's pdftotext, including words in
// letters that are drawn as boxes.
func TestPDFIsFound(t *testing.T) {
	testkit.Tool(t, "pdftotext")
	f := mainFigure(testMoves())
	f.Title = "−10 dB, ½ octave, “Été”, l’après-midi à 14 h…"
	f.Lines = []string{"夜のフェリー 🎹.wav", "Łódź, Ærøskøbing, Ночной паром, cafe\u0301", "a\x01b"}
	for i := range 300 { // more than a font of the document holds
		f.Lines[2] += string(rune(0x4e00 + 2*i))
	}
	leaveOut(&f, 8000, 30000, "above the low-pass")
	tool := exec.Command("pdftotext", "-layout", "-", "-")
	tool.Stdin = bytes.NewReader(pdfOf(t, &f, &f))
	out, err := tool.Output()
	if err != nil {
		t.Fatal(err)
	}
	pages := strings.Split(strings.TrimSuffix(string(out), "\f"), "\f")
	if len(pages) != 2 || pages[0] != pages[1] {
		t.Fatalf("%d pages, want the same twice", len(pages))
	}
	for _, want := range []string{
		f.Title, f.Lines[0], "Łódź, Ærøskøbing, Ночной паром, café", "a\ufffdb一", "−2.6 dB", "low mids 2.8 dB over the reference, ±0.6", "3.15 kHz", "high mids",
	} {
		if !strings.Contains(pages[0], want) {
			t.Errorf("no %q in\n%s", want, pages[0])
		}
	}
}

// TestPDFRefuses: WritePDF refuses what WritePNG refuses, before anything is written.
func TestPDFRefuses(t *testing.T) {
	good, small := mainFigure(nil), mainFigure(nil)
	small.WidthPx, small.HeightPx = 10, 10
	for name, pages := range map[string][]*Figure{"none": nil, "too small": {&good, &small}, "no panel": {{}}} {
		var file bytes.Buffer
		if err := WritePDF(&file, pages...); err == nil || file.Len() > 0 {
			t.Errorf("%s: error %v after %d bytes", name, err, file.Len())
		}
	}
}
