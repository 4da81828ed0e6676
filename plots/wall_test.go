package plots

import (
	"bytes"
	"fmt"
	"math"
	"testing"
)

// A picture for the wall prints on A3 or tabloid paper, with more rows on A2 or ANSI C, and its
// letters are read from two metres: ISO 9241-303 asks for 16 minutes of arc at least (from memory).
func TestWall(t *testing.T) {
	of := func(rows int, letter bool) *Wall {
		f := &Wall{Title: "4 of 5 mixes have too much in the lows", Line: "dB over (+) or under (−)", Note: "level ignored", Columns: []string{"sub", "low mids"}, Letter: letter}
		for i := range rows {
			f.Rows = append(f.Rows, WallRow{Name: fmt.Sprintf("a mix with a very long name, %d", i), Cells: []WallCell{{Text: "+7", Shade: -0.7, Heavy: true}, {Text: "–"}}})
		}
		return f
	}
	for _, c := range []struct {
		rows   int
		letter bool
		mm     [2]float64
	}{
		{1, false, [2]float64{420, 297}}, {8, false, [2]float64{420, 297}}, {12, false, [2]float64{420, 594}}, {20, false, [2]float64{420, 594}},
		{6, true, [2]float64{431.8, 279.4}}, {12, true, [2]float64{431.8, 558.8}},
	} {
		const pixel = 25.4 / wallDPI
		width, height, _ := of(c.rows, c.letter).size()
		if w, h := float64(width)*pixel, float64(height)*pixel; math.Abs(w-c.mm[0]) > pixel || math.Abs(h-c.mm[1]) > pixel {
			t.Errorf("%d rows: %.1f × %.1f mm, want %v", c.rows, w, h, c.mm)
		}
	}
	const capitals, metres = 0.73 * wallLetters / 1000 * 0.420, 2
	if minutes := math.Atan(capitals/metres) * 180 / math.Pi * 60; minutes < 15.8 { // 16, rounded
		t.Errorf("letters of %.1f minutes of arc", minutes)
	}
	var one, again bytes.Buffer
	if err := of(MaxWallRows, false).WriteSVG(&one); err != nil {
		t.Fatal(err)
	}
	if err := of(MaxWallRows, false).WriteSVG(&again); err != nil || !bytes.Equal(one.Bytes(), again.Bytes()) {
		t.Errorf("the same picture is other bytes, %v", err)
	}
	for _, rows := range []int{0, MaxWallRows + 1} {
		if err := of(rows, false).WritePNG(&bytes.Buffer{}); err == nil {
			t.Errorf("%d rows are drawn", rows)
		}
	}
}
