package training

import (
	"math"

	"toneplumb/biquad"
	"toneplumb/spectrum"
)

// Mark is what an answer to one render is worth.
type Mark struct {
	Found    []Pair
	Missed   []biquad.Filter // hidden and not heard
	Invented []biquad.Filter // heard and not hidden

	// OffDB is how far the curve that was heard is from the hidden one, HiddenDB how
	// far no answer would be: root mean squares over 40 Hz to 16 kHz, the mean over the
	// bands taken off both, since all renders are equally loud.
	OffDB, HiddenDB float64
}

// Pair is a hidden move and the one heard in its place.
type Pair struct{ Hidden, Heard biquad.Filter }

// When a move counts as found. Our choice: the right direction within an octave; and
// where a bell was heard for a shelf, or a shelf for a bell, on the side that the shelf
// moves up to two octaves.
const (
	foundOct     = 1.0
	foundSideOct = 2.0
)

// markedHz is the range that is marked, that of distances everywhere in toneplumb.
var markedHz = [2]float64{40, 16000}

// MarkAnswer marks what was heard in one render.
func MarkAnswer(hidden, heard []biquad.Filter, rateHz float64) Mark {
	var m Mark
	m.OffDB = curvesApart(hidden, heard, rateHz)
	m.HiddenDB = curvesApart(hidden, nil, rateHz)
	missed, left := append([]biquad.Filter(nil), hidden...), append([]biquad.Filter(nil), heard...)
	for {
		a, b, nearest := -1, -1, math.Inf(1)
		for i, h := range missed {
			for j, f := range left {
				if oct, may := near(h, f); may && oct < nearest {
					a, b, nearest = i, j, oct
				}
			}
		}
		if a < 0 {
			break
		}
		m.Found = append(m.Found, Pair{missed[a], left[b]})
		missed, left = append(missed[:a], missed[a+1:]...), append(left[:b], left[b+1:]...)
	}
	m.Missed, m.Invented = missed, left
	return m
}

// near returns how many octaves apart two moves are, and whether one may be heard for
// the other.
func near(a, b biquad.Filter) (oct float64, may bool) {
	up := math.Log2(b.FreqHz / a.FreqHz)
	oct = math.Abs(up)
	opposed := a.Shape != b.Shape && a.Shape != biquad.Bell && b.Shape != biquad.Bell // a low shelf for a high one
	if a.GainDB*b.GainDB <= 0 || opposed {
		return oct, false
	}
	if a.Shape == b.Shape || oct <= foundOct {
		return oct, oct <= foundOct
	}
	if b.Shape != biquad.Bell {
		a, up = b, -up // seen from the shelf
	} else if a.Shape == biquad.Bell {
		return oct, false
	}
	side := a.Shape == biquad.LowShelf && up < 0 || a.Shape == biquad.HighShelf && up > 0
	return oct, side && oct <= foundSideOct
}

// curvesApart is the rms difference of two responses in dB over the bands that are
// marked, each band of 1/24 octave alike, the mean taken off.
func curvesApart(a, b []biquad.Filter, rateHz float64) float64 {
	var hz []float64
	for _, f := range spectrum.Centres() {
		if f >= markedHz[0] && f <= math.Min(markedHz[1], 0.45*rateHz) {
			hz = append(hz, f)
		}
	}
	x := biquad.ResponseDB(nil, a, hz, rateHz)
	mean := 0.0
	for i, y := range biquad.ResponseDB(nil, b, hz, rateHz) {
		x[i] -= y
		mean += x[i] / float64(len(hz))
	}
	sum := 0.0
	for _, d := range x {
		sum += (d - mean) * (d - mean)
	}
	return math.Sqrt(sum / float64(len(hz)))
}

// Total is what a sheet is worth.
type Total struct {
	OffDB, HiddenDB         float64 // means over the renders
	Found, Missed, Invented int
	Hidden                  int
}

// TotalOf adds up marks.
func TotalOf(marks []Mark) Total {
	var t Total
	for _, m := range marks {
		t.OffDB += m.OffDB / float64(len(marks))
		t.HiddenDB += m.HiddenDB / float64(len(marks))
		t.Found += len(m.Found)
		t.Missed += len(m.Missed)
		t.Invented += len(m.Invented)
	}
	t.Hidden = t.Found + t.Missed
	return t
}
