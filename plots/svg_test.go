package plots

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image"
	"image/png"
	"io"
	"os/exec"
	"reflect"
	"strings"
	"testing"

	"toneplumb/spectrum/testkit"
)

// rsvgShift is the largest accepted difference of a pixel of the SVG, drawn by librsvg, from
// the PNG, in levels of 255, and rsvgMean that of the mean over all pixels. Measured with
// librsvg 2.54.7: at most 69 and 0.33. The two renderers differ in how they shade pixels that
// an edge crosses, and the PNG has a palette of 256 colours.
const (
	rsvgShift = 90
	rsvgMean  = 0.5
)

// inOurLetters replaces letters that the typeface lacks by boxes, in all texts of a figure. In
// an SVG the viewer would draw these letters.
func inOurLetters(v reflect.Value) {
	switch v.Kind() {
	case reflect.String:
		v.SetString(strings.Map(func(r rune) rune {
			if Lack(string(r)) {
				return '□'
			}
			return r
		}, v.String()))
	case reflect.Struct:
		for i := range v.NumField() {
			inOurLetters(v.Field(i))
		}
	case reflect.Slice:
		for i := range v.Len() {
			inOurLetters(v.Index(i))
		}
	}
}

// TestSVGLikePNG compares the SVG, drawn by librsvg's rsvg-convert, with the PNG.
func TestSVGLikePNG(t *testing.T) {
	testkit.Skip(t, "draws by other programs")
	testkit.Tool(t, "rsvg-convert")
	for _, c := range uglyFigures() {
		switch c.name {
		case "main", "small", "wide-hatched-edge", "long-names", "out-below-100", "interval-gaps", "grid", "tall":
		default:
			continue
		}
		inOurLetters(reflect.ValueOf(&c.fig).Elem())
		for _, c.fig.Dark = range []bool{false, true} {
			if c.fig.Dark && c.name != "main" && c.name != "interval-gaps" {
				continue // the same lines in other colours
			}
			t.Run(fmt.Sprintf("%s, dark %v", c.name, c.fig.Dark), func(t *testing.T) {
				f := c.fig.withDefaults()
				tool := exec.Command("rsvg-convert", "-w", fmt.Sprint(f.WidthPx), "-h", fmt.Sprint(f.HeightPx))
				tool.Stdin = bytes.NewReader(svgOf(t, f))
				drawn, err := tool.Output()
				if err != nil {
					t.Fatal(err)
				}
				got, err := png.Decode(bytes.NewReader(drawn))
				if err != nil {
					t.Fatal(err)
				}
				want, err := png.Decode(bytes.NewReader(pngOf(t, f)))
				if err != nil {
					t.Fatal(err)
				}
				if got.Bounds() != want.Bounds() {
					t.Fatalf("drawn at %v, want %v", got.Bounds(), want.Bounds())
				}
				worst, mean := shifts(got, want)
				t.Logf("largest shift %d, mean %.3f", worst, mean)
				if worst > rsvgShift || mean > rsvgMean {
					t.Errorf("largest shift %d, mean %.3f; want at most %d and %.1f", worst, mean, rsvgShift, rsvgMean)
				}
				// The check must notice a picture that is shifted by one pixel.
				beside := want.(*image.Paletted)
				beside = beside.SubImage(beside.Rect.Inset(1)).(*image.Paletted)
				beside.Rect = beside.Rect.Sub(image.Pt(1, 0))
				if worst, mean := shiftsIn(got, beside, beside.Rect); worst <= rsvgShift || mean <= rsvgMean {
					t.Errorf("one pixel beside: largest shift %d, mean %.3f; too little to be found", worst, mean)
				}
			})
		}
	}
}

// maxSVG is the largest size in bytes of a test figure. Our choice: small enough to be inline
// in a page.
const maxSVG = 800_000

// TestSVGForm reads the documents back: four kinds of element, text only where the typeface
// lacks letters, no references, the title as text, and the size of the PNG.
func TestSVGForm(t *testing.T) {
	testkit.Skip(t, "draws every figure")
	figures := append(uglyFigures(), testFigure{"odd title", Figure{
		Title: "<b>&\"'\x01\xff]]> – 夜\u202e", DPI: 96, WidthPx: 960, HeightPx: 720, Panels: []Panel{{}},
	}})
	for _, c := range figures {
		t.Run(c.name, func(t *testing.T) {
			f := c.fig.withDefaults()
			file := svgOf(t, f)
			if len(file) > maxSVG {
				t.Errorf("%d bytes, want at most %d", len(file), maxSVG)
			}
			if again := svgOf(t, c.fig); !bytes.Equal(file, again) {
				t.Error("the same figure gave other bytes")
			}
			elements := map[string]int{}
			root := map[string]string{}
			title, within := "", ""
			for reader := xml.NewDecoder(bytes.NewReader(file)); ; {
				token, err := reader.Token()
				if err == io.EOF {
					break
				}
				if err != nil {
					t.Fatal(err)
				}
				switch token := token.(type) {
				case xml.StartElement:
					within = token.Name.Local
					elements[within]++
					for _, a := range token.Attr {
						if within == "svg" {
							root[a.Name.Local] = a.Value
						}
						if strings.Contains(a.Value, "url") || strings.HasPrefix(a.Name.Local, "on") || a.Name.Local == "href" || a.Name.Local == "style" {
							t.Errorf("<%s> has %s=%q", within, a.Name.Local, a.Value)
						}
					}
				case xml.EndElement:
					within = ""
				case xml.CharData:
					if within == "title" {
						title += string(token)
					}
				case xml.Comment, xml.ProcInst, xml.Directive:
					t.Errorf("has %T", token)
				}
			}
			delete(elements, "text") // letters that the typeface lacks
			if len(elements) != 5 || elements["svg"] != 1 || elements["title"] != 1 || elements["desc"] != 1 || elements["g"] != 1 || elements["path"] < 20 {
				t.Errorf("elements are %v", elements)
			}
			want := strings.NewReplacer("\x01", "\ufffd", "\xff", "\ufffd").Replace(f.Title)
			if f.Title == "" {
				want = "decibels over frequency"
			}
			if title != want {
				t.Errorf("title is %q, want %q", title, want)
			}
			for name, want := range map[string]string{
				"xmlns":   "http://www.w3.org/2000/svg",
				"viewBox": fmt.Sprintf("0 0 %d %d", f.WidthPx, f.HeightPx),
				"width":   fmt.Sprintf("%.4fin", float64(f.WidthPx)/f.DPI),
				"height":  fmt.Sprintf("%.4fin", float64(f.HeightPx)/f.DPI),
				"role":    "img",
			} {
				if root[name] != want {
					t.Errorf("%s is %q, want %q", name, root[name], want)
				}
			}
		})
	}
}

// BenchmarkSVG writes the main chart with four moves.
func BenchmarkSVG(b *testing.B) {
	f := mainFigure(testMoves())
	b.ReportAllocs()
	for b.Loop() {
		if err := f.WriteSVG(io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}
