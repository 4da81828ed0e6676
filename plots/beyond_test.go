package plots

import (
	"math"
	"testing"

	"gonum.org/v1/plot/vg"
)

// An axis that is cut keeps its scale and the curves that are Whole. Each rise beyond it has
// one arrow, at its largest value.
func TestCutAxis(t *testing.T) {
	const height, perDB = 240, 40.0 / 3
	p := Panel{ZeroLine: true, LeastUnitsPerDB: perDB, Curves: []Curve{
		{Name: "difference", FreqHz: centres(), DB: curveOf(sum(hill(20, 60, 0.4), hill(-14, 1000, 0.6), hill(13, 9000, 0.5))), Style: Style{Weight: Strong}},
		{Name: "moves", FreqHz: centres(), DB: curveOf(sum(hill(5, 60, 1), hill(-6, 1000, 1))), Whole: true},
	}}
	d := newSheet(new(words), DefaultWidthPx, DefaultHeightPx, &Figure{}).newDiagram(&p, vg.Rectangle{Max: vg.Point{X: 1000, Y: height}})
	if scale := height / (d.axis.max - d.axis.min); scale < perDB-1e-9 {
		t.Errorf("a decibel is %.1f units high, want %.1f", scale, perDB)
	}
	if d.axis.min > -6 || d.axis.max < 5 {
		t.Errorf("the axis from %.1f to %.1f cuts the moves", d.axis.min, d.axis.max)
	}
	var got []float64
	for _, up := range []bool{true, false} {
		for _, r := range d.rises(&p.Curves[0], up) {
			got = append(got, r.db)
		}
	}
	want := []float64{20, 13, -14}
	if len(got) != len(want) {
		t.Fatalf("arrows at %v dB, want %v", got, want)
	}
	for i := range want {
		if math.Abs(got[i]-want[i]) > 0.2 { // the bands miss the very top
			t.Errorf("arrows at %v dB, want %v", got, want)
		}
	}
}

// Of a curve that is mostly far beyond an axis of that scale more is shown, at half the scale.
func TestCutAxisOfDistantCurves(t *testing.T) {
	const height, perDB = 240, 8
	for _, c := range []struct{ heightDB, most float64 }{{12, height / perDB}, {30, 2 * height / perDB}, {60, 2 * height / perDB}} {
		p := Panel{ZeroLine: true, LeastUnitsPerDB: perDB, Curves: []Curve{
			{Name: "difference", FreqHz: centres(), DB: curveOf(sum(hill(c.heightDB, 60, 2), hill(-c.heightDB/2, 5000, 2))), Style: Style{Weight: Strong}},
		}}
		a := p.axis(8, height)
		if span := a.max - a.min; span > c.most*(1+1e-9) || c.heightDB > 20 && span < 1.2*height/perDB {
			t.Errorf("hills of %g dB: an axis of %.1f dB, want at most %.1f", c.heightDB, span, c.most)
		}
	}
}

// An axis that holds all within twice the decibels is not cut: it ends on half steps.
func TestAxisOfHalfTheScale(t *testing.T) {
	const height, perDB = 240, 8
	for _, heightDB := range []float64{26.5, 28.5, 34, 34.5, 35, 35.5, 36} {
		p := Panel{ZeroLine: true, LeastUnitsPerDB: perDB, Curves: []Curve{
			{Name: "difference", FreqHz: centres(), DB: curveOf(sum(hill(heightDB, 60, 2), hill(-heightDB/2, 5000, 2))), Style: Style{Weight: Strong}},
		}}
		a := p.axis(8, height)
		lo, hi := p.automaticRange()
		if hi-lo > 2*height/perDB { // 36 dB
			if math.Abs(a.max-a.min-2*height/perDB) > 1e-9 {
				t.Errorf("hills of %g dB: an axis from %g to %g dB", heightDB, a.min, a.max)
			}
			continue
		}
		half := a.step / 2
		if a.min != half*math.Floor(lo/half) || a.max != half*math.Ceil(hi/half) {
			t.Errorf("hills of %g dB: an axis from %g to %g dB in steps of %g, for %g to %g", heightDB, a.min, a.max, a.step, lo, hi)
		}
	}
}

// An axis that is cut shows a curve where it is for most of its way, and does not spend itself on a
// deep dip, least of all where nothing is judged.
func TestCutAxisLosesLeast(t *testing.T) {
	const height, perDB = 240, 8
	p := Panel{ZeroLine: true, LeastUnitsPerDB: perDB, LeftOut: []Span{{FromHz: MinHz, ToHz: 60}}, Curves: []Curve{
		{Name: "difference", FreqHz: centres(), DB: curveOf(sum(hill(-26, 40, 1), step(13, 2000, true))), Style: Style{Weight: Strong}},
		{Name: "moves", FreqHz: centres(), DB: curveOf(hill(-4, 200, 2)), Whole: true},
	}}
	if a := p.axis(8, height); a.max < 13 || a.min > -5 {
		t.Errorf("an axis from %.1f to %.1f dB for a curve that is at 13 dB from 2 kHz on", a.min, a.max)
	}
}

// The reason of a left-out span is not written over the value of an arrow there, nor is a value over
// another one.
func TestReasonsClearOfArrows(t *testing.T) {
	const height, perDB = 240, 40.0 / 3
	clear := 0
	for hz := 22.0; hz < 60; hz *= 1.05 {
		for _, db := range []float64{-30, 30} {
			sp := Span{FromHz: MinHz, ToHz: 45, Why: "the mix has little below 29 Hz"}
			p := Panel{ZeroLine: true, LeastUnitsPerDB: perDB, LeftOut: []Span{sp}, Curves: []Curve{
				{Name: "difference", FreqHz: centres(), DB: curveOf(sum(hill(db, hz, 0.1), hill(db, 2.5*hz, 0.1))), Style: Style{Weight: Strong}},
			}}
			d := newSheet(new(words), DefaultWidthPx, DefaultHeightPx, &Figure{}).newDiagram(&p, vg.Rectangle{Max: vg.Point{X: 1000, Y: height}})
			var boxes []vg.Rectangle
			for _, a := range d.arrows {
				boxes = append(boxes, d.lettersAt(a.at, d.wide(d.plain(noteSize), a.text)))
			}
			if r, any := d.reasonIn(sp); any && r.clear {
				l := d.soft(noteSize)
				size := vg.Point{X: d.widest(l, r.lines), Y: d.lead(l, len(r.lines))}
				if r.turn != 0 {
					size.X, size.Y = size.Y, size.X
				}
				half := vg.Point{X: size.X / 2, Y: size.Y / 2}
				boxes = append(boxes, vg.Rectangle{Min: r.centre.Sub(half), Max: r.centre.Add(half)})
				clear++
			}
			for i, a := range boxes {
				for _, b := range boxes[:i] {
					if a.Min.X < b.Max.X && b.Min.X < a.Max.X && a.Min.Y < b.Max.Y && b.Min.Y < a.Max.Y {
						t.Errorf("dips at %.1f and %.1f Hz, %g dB: text over text, %v and %v", hz, 2.5*hz, db, a, b)
					}
				}
			}
		}
	}
	if clear == 0 {
		t.Error("no reason had a clear place")
	}
}

// A curve that leaves the axis by no more than its own thickness has no arrow.
func TestNoArrowForAThickness(t *testing.T) {
	for _, c := range []struct {
		beyondDB float64
		arrows   int
	}{{0.2, 0}, {0.5, 1}} {
		p := Panel{ZeroLine: true, YMinDB: -12, YMaxDB: 12, LeastUnitsPerDB: 10, Curves: []Curve{
			{Name: "difference", FreqHz: []float64{100, 1000, 10000}, DB: []float64{0, 12 + c.beyondDB, 0}, Style: Style{Weight: Strong}},
		}}
		d := newSheet(new(words), DefaultWidthPx, DefaultHeightPx, &Figure{}).newDiagram(&p, vg.Rectangle{Max: vg.Point{X: 1000, Y: 240}})
		if len(d.arrows) != c.arrows {
			t.Errorf("%g dB beyond: %d arrows, want %d", c.beyondDB, len(d.arrows), c.arrows)
		}
	}
}
