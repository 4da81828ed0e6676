package plots

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/png"
	"io"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
)

// WritePNG draws the figure as a picture in up to 256 colours, with a pHYs chunk. Nothing
// is written if it returns an error of its own: a size or resolution out of
// range, no panel, or words that leave no room for the panels.
//
// It panics if frequencies do not rise or differ in number from the decibels,
// if a table row is longer than the header, or if a panel's share or axis makes
// no sense. Curves without a single value to draw are no error: the panel says
// so.
func (f *Figure) WritePNG(w io.Writer) error {
	g := f.withDefaults()
	if err := g.check(); err != nil {
		return err
	}
	const pointsPerInch = 72 // at this resolution a point of the canvas is a pixel
	width, height := vg.Length(g.WidthPx), vg.Length(g.HeightPx)
	c := vgimg.NewWith(vgimg.UseWH(width, height), vgimg.UseDPI(pointsPerInch), vgimg.UseBackgroundColor(g.tones().paper))
	if err := g.draw(c, width, height); err != nil {
		return err
	}
	var file bytes.Buffer
	encoder := png.Encoder{CompressionLevel: png.BestSpeed}
	if err := encoder.Encode(&file, inFewColours(c.Image().(*image.RGBA))); err != nil {
		return err
	}
	sized, err := withPHYs(file.Bytes(), g.DPI)
	if err != nil {
		return err
	}
	_, err = w.Write(sized)
	return err
}

// withPHYs inserts a pHYs chunk after IHDR: pixels per metre along both axes as
// 4-byte integers, then the unit, 1 for the metre.
// Source: W3C, PNG Specification (Third Edition), 11.3.4.3 pHYs; chunk layout
// and CRC 5.3 and 5.5; it precedes IDAT, 5.6.
func withPHYs(file []byte, dpi float64) ([]byte, error) {
	const (
		signature     = 8              // bytes, 5.2
		header        = 4 + 4 + 13 + 4 // IHDR: length, type, data, CRC
		at            = signature + header
		metresPerInch = 0.0254 // exact by definition of the inch
	)
	if len(file) < at || string(file[signature+4:signature+8]) != "IHDR" {
		return nil, errors.New("the picture does not begin as a PNG file should")
	}
	pixelsPerMetre := uint32(math.Round(dpi / metresPerInch))
	body := []byte("pHYs")
	body = binary.BigEndian.AppendUint32(body, pixelsPerMetre)
	body = binary.BigEndian.AppendUint32(body, pixelsPerMetre)
	body = append(body, 1)
	const dataBytes = 9

	out := append([]byte(nil), file[:at]...)
	out = binary.BigEndian.AppendUint32(out, dataBytes)
	out = append(out, body...)
	out = binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(body))
	return append(out, file[at:]...), nil
}
