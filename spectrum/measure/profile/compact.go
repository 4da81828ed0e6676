package profile

import (
	"bytes"
	"compress/flate"
	"encoding/base64"
	"encoding/binary"
	"errors"
	"io"
	"math"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// A profile keeps its rows as integers: the level of each band in steps of levelStepDB above
// levelFloorDB (0: silence), the ratio of mid to side in steps of widthStepDB, and each row's
// gate in steps of 1/gateSteps. Rounding changes a level by 0.0025 dB at most. Our choice:
// two bytes, and far less than the difference between two decoders.
const (
	levelStepDB  = 0.005
	levelFloorDB = -200
	widthStepDB  = 0.25
	gateSteps    = 250
)

// bytesPerRow is the length of a row before compression: levels, widths, gate.
const bytesPerRow = 3*spectrum.BandCount + 1

// packRows returns rows of stepSec seconds, a multiple of the recording's RowSec, as
// integers. A shorter row at the end has a smaller gate, so that its power counts only for
// its duration.
func packRows(r *measure.Recording, stepSec int) []byte {
	weights := r.GateWeights()
	perRow := stepSec / r.RowSec
	var packed []byte
	for start := 0; start < r.Rows; start += perRow {
		end := min(start+perRow, r.Rows)
		gated := 0.0
		for _, w := range weights[start:end] {
			gated += w
		}
		share := math.Round(gated / float64(perRow) * gateSteps)
		var power, mid, side [spectrum.BandCount]float64
		for row := start; row < end; row++ {
			w := weights[row] // the mean over the time that passes the gate; over all if none does
			if share == 0 {
				w = 1
			}
			for b := range power {
				p := w * float64(r.Power[row*spectrum.BandCount+b])
				m, s := r.Width[row*spectrum.BandCount+b].Split(p)
				power[b], mid[b], side[b] = power[b]+p, mid[b]+m, side[b]+s
			}
		}
		total := gated
		if share == 0 {
			total = float64(end - start)
		}
		for b := range power {
			packed = binary.LittleEndian.AppendUint16(packed, packLevel(power[b]/total))
		}
		for b := range power {
			width := int8(0)
			if packLevel(power[b]/total) > 0 {
				width = packWidth(mid[b], side[b])
			}
			packed = append(packed, byte(width))
		}
		packed = append(packed, byte(share))
	}
	return packed
}

func packLevel(power float64) uint16 {
	steps := math.Round((spectrum.PowerToDB(power) - levelFloorDB) / levelStepDB)
	return uint16(min(max(steps, 0), math.MaxUint16)) // −Inf becomes 0
}

// packWidth returns 10·log10(mid/side) in steps of widthStepDB.
func packWidth(mid, side float64) int8 {
	db := spectrum.PowerToDB(math.Max(mid, 1e-30) / math.Max(side, 1e-30))
	return int8(min(max(math.Round(db/widthStepDB), -math.MaxInt8), math.MaxInt8))
}

// unpackRows sets Rows, Power, Width and Gate from packed rows.
func unpackRows(r *measure.Recording, packed []byte) {
	r.Rows = len(packed) / bytesPerRow
	r.Power, r.Width = make([]float32, 0, r.Rows*spectrum.BandCount), make([]measure.Width, 0, r.Rows*spectrum.BandCount)
	for row := range r.Rows {
		p := packed[row*bytesPerRow:][:bytesPerRow]
		for b := range spectrum.BandCount {
			power := 0.0
			if steps := binary.LittleEndian.Uint16(p[2*b:]); steps > 0 {
				power = spectrum.DBToPower(levelFloorDB + levelStepDB*float64(steps))
			}
			r.Power = append(r.Power, float32(power))
			r.Width = append(r.Width, measure.Width(int8(p[2*spectrum.BandCount+b]))*(widthStepDB*measure.WidthsPerDB))
		}
		r.Gate = append(r.Gate, float64(p[bytesPerRow-1])/gateSteps)
	}
}

// compress returns rows as text: the difference of each byte from the same byte a row
// earlier, column by column (see columns), then DEFLATE (RFC 1951), then base64 (RFC 4648).
func compress(packed []byte) string {
	planes := make([]byte, 0, len(packed))
	rows := len(packed) / bytesPerRow
	for _, column := range columns() {
		last := byte(0)
		for row := range rows {
			v := packed[row*bytesPerRow+column]
			planes = append(planes, v-last)
			last = v
		}
	}
	var buf bytes.Buffer
	w, _ := flate.NewWriter(&buf, flate.BestCompression)
	w.Write(planes)
	w.Close()
	return base64.StdEncoding.EncodeToString(buf.Bytes())
}

// columns returns the order in which the columns of bytes are stored: low bytes of the
// levels, their high bytes, widths, gate.
func columns() []int {
	var order []int
	for b := range spectrum.BandCount {
		order = append(order, 2*b)
	}
	for b := range spectrum.BandCount {
		order = append(order, 2*b+1)
	}
	for c := 2 * spectrum.BandCount; c < bytesPerRow; c++ {
		order = append(order, c)
	}
	return order
}

var errRows = errors.New("its table is damaged")

// expand is the inverse of compress. It returns an error unless the text holds rows rows, or
// one less, since the last may have been too short for a window. It allocates no more memory
// than the rows in the text need.
func expand(text string, rows int) ([]byte, error) {
	raw, err := base64.StdEncoding.DecodeString(text)
	if err != nil {
		return nil, errRows
	}
	in := flate.NewReader(bytes.NewReader(raw))
	planes, err := io.ReadAll(io.LimitReader(in, int64(rows*bytesPerRow)+1))
	if err != nil || len(planes) != rows*bytesPerRow && len(planes) != (rows-1)*bytesPerRow || len(planes) == 0 {
		return nil, errRows
	}
	rows = len(planes) / bytesPerRow
	packed := make([]byte, len(planes))
	i := 0
	for _, column := range columns() {
		last := byte(0)
		for row := range rows {
			last += planes[i]
			packed[row*bytesPerRow+column] = last
			i++
			width := column >= 2*spectrum.BandCount && column < bytesPerRow-1
			if width && int8(last) == math.MinInt8 || column == bytesPerRow-1 && last > gateSteps {
				return nil, errRows
			}
		}
	}
	return packed, nil
}
