package plots

import (
	"fmt"
	"math"
	"strings"
)

// uglierFigures are cases of lines and hatching, with one difficulty each.
func uglierFigures() []testFigure {
	var out []testFigure
	add := func(name string, f Figure) { out = append(out, testFigure{name, f}) }

	add("one-move", mainFigure(testMoves()[1:2]))

	octave := mainFigure(testMoves())
	leaveOut(&octave, 0, 500, "outside the range asked for")
	leaveOut(&octave, 1000, math.Inf(1), "too little music up here to be judged by")
	add("one-octave-left", octave)

	all := mainFigure(testMoves())
	leaveOut(&all, 0, math.Inf(1), "nothing but noise in both recordings")
	add("nothing-left", all)

	narrow := mainFigure(testMoves())
	for i, hz := range []float64{50, 100, 105, 110, 150, 200, 250, 300} {
		leaveOut(&narrow, hz, hz*1.03, fmt.Sprintf("hum of the mains, harmonic %d", i+1))
	}
	leaveOut(&narrow, 15700, 16000, "tone of a screen")
	leaveOut(&narrow, 19500, 20000, "above the low-pass")
	add("ten-narrow-spans", narrow)

	wiggly := mainFigure(testMoves())
	p := &wiggly.Panels[1]
	for i := range p.Curves {
		if p.Curves[i].Style.Weight != Thin {
			for k := range p.Curves[i].DB {
				p.Curves[i].DB[k] += 3 * math.Sin(float64(k*k%97+7*i))
			}
		}
	}
	for k := range p.Intervals[0].LowDB {
		w := math.Abs(2 * math.Sin(float64(k*k%89)))
		p.Intervals[0].LowDB[k] -= w
		p.Intervals[0].HighDB[k] += w
	}
	leaveOut(&wiggly, 14000, math.Inf(1), "above the low-pass of the MP3")
	add("wiggly", wiggly)

	var steps []move
	for i, gain := range []float64{24, -24, 24, -24, 24} {
		m := testMoves()[i%4]
		m.hz = 40 * math.Pow(4, float64(i))
		m.db = hill(gain/0.6, m.hz, 0.7)
		m.row = append([]string{fmt.Sprint(i + 1)}, m.row[1:]...)
		steps = append(steps, m)
	}
	add("twenty-four-db", mainFigure(steps))

	var edges []move
	for i, hz := range []float64{20, 20, 20, 20.2, 20000, 19999, 19000, 20000} {
		m := testMoves()[i%4]
		m.hz = hz
		m.row = append([]string{fmt.Sprint(i + 10)}, m.row[1:]...)
		edges = append(edges, m)
	}
	add("marks-at-edges", mainFigure(edges))

	many := mainFigure(testMoves())
	for i := range 9 {
		many.Lines = append(many.Lines, fmt.Sprintf("reference %d: Ünder the Bridge of Añover, take %d.flac, 4:0%d, −13.%d LUFS, turned down by 1.%d dB here", i+2, i, i, i, i))
	}
	add("ten-references", many)

	notes := mainFigure(testMoves())
	notes.Footnotes = append(notes.Footnotes,
		strings.Repeat("Lossy recording: nothing above 16 kHz was judged, and what is near it only with care. ", 4),
		strings.Repeat("A move over 3 dB is more than a master bus usually takes: look at balance and single tracks first. ", 3))
	add("long-footnotes", notes)

	holes := mainFigure(testMoves())
	iv := &holes.Panels[1].Intervals[0]
	for k := range iv.LowDB {
		if k%30 < 8 || k%30 == 15 {
			iv.LowDB[k] = math.NaN()
		}
	}
	edge := *iv
	edge.Name, edge.Kind, edge.Colour = "other references", HatchedEdge, ReddishPurple
	edge.LowDB, edge.HighDB = append([]float64(nil), iv.LowDB...), append([]float64(nil), iv.HighDB...)
	for k := range edge.LowDB {
		edge.LowDB[k] -= 1.5
		edge.HighDB[k] += 1.5
	}
	holes.Panels[1].Intervals = append(holes.Panels[1].Intervals, edge)
	add("interval-gaps", holes)

	add("grid", gridFigure())
	return out
}

// gridFigure has names that must be shortened, shades outside 0 to 1, and letters on every tone.
func gridFigure() Figure {
	f := Figure{Title: "Which track carries what", Lines: []string{"mix: Añoranza.wav"}, WidthPx: 1200, HeightPx: 900,
		Grid:   Grid{Title: "share of each zone of the mix, in percent", Columns: []string{"sub", "lows", "low mids", "mids", "high mids", "highs", "air"}},
		Panels: []Panel{{Title: "what each move changes", YLabel: "dB", ZeroLine: true, Curves: []Curve{{FreqHz: centres(), DB: curveOf(hill(3, 400, 1)), Style: Style{Colour: Black}}}}},
	}
	for i, name := range []string{"bass", "Überlange Spur mit Größenwahn, Aufnahme 17 (zweites Mikrofon).wav", "夜の部.wav", "no track"} {
		row := GridRow{Name: name}
		for c := range f.Grid.Columns {
			share := float64((i*7+c*3)%13)/10 - 0.1 // -10 to 110 percent
			row.Shade, row.Text = append(row.Shade, share), append(row.Text, fmt.Sprintf("%.0f", 100*share))
		}
		f.Grid.Rows = append(f.Grid.Rows, row)
	}
	return f
}
