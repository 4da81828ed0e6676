package plots

import (
	"bytes"
	"encoding/binary"
	"flag"
	"hash/crc32"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"toneplumb/spectrum/testkit"
)

var (
	drawTo = flag.String("draw", "", "folder to draw all test figures to")
)

func pngOf(t *testing.T, f Figure) []byte {
	t.Helper()
	var file bytes.Buffer
	if err := f.WritePNG(&file); err != nil {
		t.Fatal(err)
	}
	return file.Bytes()
}

func svgOf(t *testing.T, f Figure) []byte {
	t.Helper()
	var file bytes.Buffer
	if err := f.WriteSVG(&file); err != nil {
		t.Fatal(err)
	}
	return file.Bytes()
}

// TestAllFigures draws at half size unless the pictures are to be written: the
// proportions are the same, and the race detector needs a quarter of the time.
func TestAllFigures(t *testing.T) {
	for _, c := range uglyFigures() {
		t.Run(c.name, func(t *testing.T) {
			c.fig = c.fig.withDefaults()
			if *drawTo == "" {
				c.fig.DPI /= 2
				c.fig.WidthPx = max(c.fig.WidthPx/2, minWidthPx)
				c.fig.HeightPx = max(c.fig.HeightPx/2, minHeightPx)
			}
			file := pngOf(t, c.fig)
			im, err := png.Decode(bytes.NewReader(file))
			if err != nil {
				t.Fatal(err)
			}
			if size := im.Bounds().Size(); size.X != c.fig.WidthPx || size.Y != c.fig.HeightPx {
				t.Errorf("picture is %v, want %d×%d", size, c.fig.WidthPx, c.fig.HeightPx)
			}
			if *drawTo != "" {
				for _, isDark := range []bool{false, true} {
					name := filepath.Join(*drawTo, c.name)
					if c.fig.Dark = isDark; isDark {
						name += "-dark"
					}
					for end, file := range map[string][]byte{".png": pngOf(t, c.fig), ".svg": svgOf(t, c.fig), ".pdf": pdfOf(t, &c.fig)} {
						if err := os.WriteFile(name+end, file, 0o666); err != nil {
							t.Fatal(err)
						}
					}
				}
			}
		})
	}
}

// goldenShift is the largest accepted difference of a pixel from the picture in testdata, in
// levels of 255. Processors round differently, which changes edges by a level or two and can
// lead to another palette. A letter or line that moves by half a pixel changes more than this.
const goldenShift = 2 * maxShift

func TestGolden(t *testing.T) {
	figures := map[string]Figure{}
	for _, c := range uglyFigures() {
		switch c.name {
		case "interval-gaps":
			c.fig.Dark = true
		case "out-below-100", "long-names", "grid":
		default:
			continue
		}
		c.fig.WidthPx, c.fig.HeightPx = 600, 440
		figures[c.name+".png"] = c.fig
	}
	for name, f := range figures {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join("testdata", name)
			file := pngOf(t, f)
			if *testkit.Update {
				if err := os.WriteFile(path, file, 0o666); err != nil {
					t.Fatal(err)
				}
			}
			stored, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			want, err := png.Decode(bytes.NewReader(stored))
			if err != nil {
				t.Fatal(err)
			}
			got, err := png.Decode(bytes.NewReader(file))
			if err != nil {
				t.Fatal(err)
			}
			if got.Bounds() != want.Bounds() {
				t.Fatalf("picture is %v, want %v", got.Bounds(), want.Bounds())
			}
			if worst, _ := shifts(got, want); worst > goldenShift {
				t.Errorf("a pixel is %d levels off, want at most %d; look at the picture, then run with -update", worst, goldenShift)
			}
		})
	}
	stored, err := os.ReadDir("testdata")
	if err != nil {
		t.Fatal(err)
	}
	for _, entry := range stored {
		if _, used := figures[entry.Name()]; !used && strings.HasSuffix(entry.Name(), ".png") {
			t.Errorf("testdata/%s belongs to no test", entry.Name())
		}
	}
}

// TestPHYs reads the chunks by the PNG Specification (Third Edition), 5.3 and
// 11.3.4.3.
func TestPHYs(t *testing.T) {
	for _, c := range []struct {
		dpi  float64
		want uint32 // pixels per metre, dpi/0.0254 rounded by hand
	}{
		{0, 5906}, {150, 5906}, {300, 11811}, {72, 2835}, {96, 3780},
	} {
		f := Figure{WidthPx: 600, HeightPx: 440, DPI: c.dpi, Panels: []Panel{{}}}
		file := pngOf(t, f)
		var order []string
		for rest := file[8:]; len(rest) > 0; {
			n := binary.BigEndian.Uint32(rest)
			name, data := string(rest[4:8]), rest[8:8+n]
			if sum := crc32.ChecksumIEEE(rest[4 : 8+n]); sum != binary.BigEndian.Uint32(rest[8+n:]) {
				t.Errorf("%g DPI: wrong CRC of %s", c.dpi, name)
			}
			order = append(order, name)
			if name == "pHYs" {
				x, y, unit := binary.BigEndian.Uint32(data), binary.BigEndian.Uint32(data[4:]), data[8]
				if n != 9 || x != c.want || y != c.want || unit != 1 {
					t.Errorf("%g DPI: pHYs has %d bytes, %d, %d, unit %d; want 9, %d, %d, 1", c.dpi, n, x, y, unit, c.want, c.want)
				}
			}
			rest = rest[12+n:]
		}
		if got := strings.Join(order, " "); !strings.HasPrefix(got, "IHDR pHYs PLTE IDAT") || strings.Count(got, "pHYs") != 1 {
			t.Errorf("%g DPI: chunks are %s", c.dpi, got)
		}
	}
}

func TestSameBytes(t *testing.T) {
	figure := func() Figure {
		f := mainFigure(testMoves())
		f.WidthPx, f.HeightPx = 600, 440
		return f
	}
	want := pngOf(t, figure())
	var all sync.WaitGroup
	for range 4 {
		all.Go(func() {
			f := figure()
			var file bytes.Buffer
			if err := f.WritePNG(&file); err != nil {
				t.Error(err)
			}
			if !bytes.Equal(file.Bytes(), want) {
				t.Error("the same figure gave other bytes")
			}
		})
	}
	all.Wait()
}

// BenchmarkMainChart draws and encodes the main chart with four moves at the
// default size.
func BenchmarkMainChart(b *testing.B) {
	f := mainFigure(testMoves())
	b.ReportAllocs()
	for b.Loop() {
		if err := f.WritePNG(io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}
