package vector

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

// Picture is a [Surface] of pixels.
type Picture struct {
	*vgimg.Canvas
	sheet Sheet
}

// NewPicture returns a blank picture of the sheet's size.
func NewPicture(s Sheet) *Picture {
	const pointsPerInch = 72 // at this resolution a point of the canvas is a pixel
	return &Picture{vgimg.NewWith(vgimg.UseWH(vg.Length(s.WidthPx), vg.Length(s.HeightPx)), vgimg.UseDPI(pointsPerInch), vgimg.UseBackgroundColor(s.Paper)), s}
}

// Words fills the outlines of a line of printable text, starting from a point on its baseline.
func (c *Picture) Words(l *Letters, txt string, size vg.Length, at vg.Point) {
	c.Fill(l.Path(txt, size, at))
}

// WriteTo writes the picture as a PNG in up to 256 colours, with its resolution in a pHYs
// chunk.
func (c *Picture) WriteTo(w io.Writer) (int64, error) {
	var file bytes.Buffer
	encoder := png.Encoder{CompressionLevel: png.BestSpeed}
	if err := encoder.Encode(&file, inFewColours(c.Image().(*image.RGBA))); err != nil {
		return 0, err
	}
	sized, err := withPHYs(file.Bytes(), c.sheet.DPI)
	if err != nil {
		return 0, err
	}
	n, err := w.Write(sized)
	return int64(n), err
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
