package measure

import (
	"math"
	"testing"
)

// A place is clipped where three samples in a row have one value at full scale, in any channel; a tenth of a second
// counts once. The cut into blocks makes no difference. The values are those of 16 bits (the largest is
// 32767/32768, the smallest −1).
func TestClippedPlaces(t *testing.T) {
	const rate, most = 1000.0, 32767.0 / 32768 // 100 frames are a tenth of a second
	flat := func(x []float64, at, n int, v float64) []float64 {
		for i := range n {
			x[at+i] = v
		}
		return x
	}
	quiet := func() []float64 { return make([]float64, 1000) }
	over := quiet() // floating point over full scale, not clipped
	for i := range over {
		over[i] = 2 * math.Sin(2*math.Pi*float64(i)/93.7)
	}
	for _, c := range []struct {
		name string
		x    [][]float64
		want int
	}{
		{"none", [][]float64{quiet(), quiet()}, 0},
		{"two samples", [][]float64{flat(quiet(), 10, 2, most), quiet()}, 0},
		{"two up and two down", [][]float64{flat(flat(quiet(), 10, 2, most), 12, 2, -1)}, 0},
		{"three", [][]float64{flat(quiet(), 10, 3, most)}, 1},
		{"the right channel", [][]float64{quiet(), flat(quiet(), 10, 3, -1)}, 1},
		{"both at once", [][]float64{flat(quiet(), 10, 9, most), flat(quiet(), 12, 9, -1)}, 1},
		{"a tenth of a second apart", [][]float64{flat(flat(quiet(), 10, 3, most), 112, 3, -1)}, 2},
		{"all the time", [][]float64{flat(quiet(), 0, 1000, 1)}, 10},
		{"below full scale", [][]float64{flat(quiet(), 0, 1000, 0.99)}, 0},
		{"over full scale, not clipped", [][]float64{over}, 0},
	} {
		for _, block := range []int{1, 7, 512, 1000} {
			clips := newClipping(rate, len(c.x))
			for at := 0; at < 1000; at += block {
				var part [][]float64
				for _, x := range c.x {
					part = append(part, x[at:min(at+block, len(x))])
				}
				clips.add(part)
			}
			if clips.places != c.want {
				t.Errorf("%s, in blocks of %d: %d places, want %d", c.name, block, clips.places, c.want)
			}
		}
	}
}

// The count is one of the whole recording.
func TestMeasuresClipping(t *testing.T) {
	x := tones(48000, 997, 4, 6, -20)
	for i, v := range x[0] {
		x[0][i] = min(max(v, -1), 1)
	}
	if r := measured(t, 48000, x); r.ClippedPlaces != 40 {
		t.Errorf("4 s of a clipped tone: %d places, want 40", r.ClippedPlaces)
	}
}
