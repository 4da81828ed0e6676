package plots

import (
	"math"
	"strings"
)

// The tests draw these figures. To look at them, write them to a folder with
// `go test ./plots -run TestAllFigures -draw FOLDER`.

func testZones() []Zone {
	return []Zone{
		{"sub", 0, 56}, {"lows", 56, 178}, {"low mids", 178, 562}, {"mids", 562, 1778},
		{"high mids", 1778, 5623}, {"highs", 5623, 11220}, {"air", 11220, math.Inf(1)},
	}
}

func testHeader() []string {
	return []string{"#", "shape", "frequency", "gain", "Q", "bandwidth or slope", "reason"}
}

func testAlign() []Align { return []Align{Right, Left, Right, Right, Right, Left, Left} }

// move is one row of settings with its curve.
type move struct {
	hz  float64
	db  func(float64) float64
	row []string
}

func testMoves() []move {
	return []move{
		{110, step(3.1, 110, false), []string{"1", "low shelf", "110 Hz", "+3.1 dB", "0.71", "S 1.0, 5.4 dB/oct", "lows 2.9 dB under the reference, ±0.7"}},
		{450, hill(-2.6, 450, 1.3), []string{"2", "bell", "450 Hz", "−2.6 dB", "1.10", "1.25 oct", "low mids 2.8 dB over the reference, ±0.6"}},
		{3150, hill(-2.2, 3150, 1), []string{"3", "bell", "3.15 kHz", "−2.2 dB", "1.40", "1.01 oct", "high mids 2.1 dB over the reference, ±0.5"}},
		{9000, step(1.8, 9000, true), []string{"4", "high shelf", "9 kHz", "+1.8 dB", "0.71", "S 1.0, 3.2 dB/oct", "air 1.9 dB under the reference, ±0.8"}},
	}
}

// mainFigure returns the chart that the package is made for, with these moves.
func mainFigure(moves []move) Figure {
	hz := centres()
	var all []func(float64) float64
	for _, m := range moves {
		all = append(all, m.db)
	}
	truth := sum(all...)
	difference := curveOf(sum(truth, ripple(0.5, 1)))
	target := curveOf(func(f float64) float64 { return 0.6 * (truth(f) + ripple(0.25, 1)(f)) })
	low := make([]float64, len(hz))
	high := make([]float64, len(hz))
	for i := range hz {
		low[i], high[i] = difference[i]-0.6, difference[i]+0.6
	}
	lower := Panel{
		LeastUnitsPerDB: 13.4,
		Title:           "Difference, reference − mix", YLabel: "dB", Share: 1.25, ZeroLine: true, MinSpanDB: 8,
		Intervals: []Interval{{Name: "95 % of measurement", FreqHz: hz, LowDB: low, HighDB: high, Colour: Grey}},
	}
	f := Figure{
		Title:  "Towards the tone of “Night Ferry” by four moves",
		Lines:  []string{"mix: Rough mix 3.wav, 3:35, −15.2 LUFS", "reference: Night Ferry.flac, 4:02, −12.9 LUFS, turned down by 2.3 dB here"},
		Zones:  testZones(),
		Table:  Table{Header: testHeader(), Align: testAlign()},
		Panels: make([]Panel, 1, 2),
		Footnotes: []string{
			"Measurement ±0.6 dB (95 %); another finished song may differ by 4–6 dB. Output trim −0.4 dB keeps the loudness.",
		},
	}
	f.Panels[0] = Panel{
		Title: "Level per band; pink noise is flat", YLabel: "dB",
		Curves: []Curve{
			{"reference", hz, curveOf(sum(music, ripple(0.8, 1))), Style{Blue, Dashed, Medium, false}, false},
			{"mix", hz, curveOf(func(f float64) float64 { return music(f) + ripple(0.8, 1.4)(f) - truth(f) }), Style{Black, Solid, Strong, false}, false},
		},
	}
	lower.Curves = append(lower.Curves,
		Curve{"difference", hz, difference, Style{Black, Solid, Strong, false}, false},
		Curve{"target", hz, target, Style{Vermillion, Dashed, Medium, false}, true},
	)
	for i, m := range moves {
		name := ""
		if i == 0 {
			name = "each move"
		}
		db := curveOf(func(f float64) float64 { return 0.6 * m.db(f) })
		lower.Curves = append(lower.Curves, Curve{name, hz, db, Style{Grey, Solid, Thin, true}, true})
		lower.Marks = append(lower.Marks, Mark{m.hz, m.row[0]})
		f.Table.Rows = append(f.Table.Rows, append([]string(nil), m.row...))
	}
	if len(moves) > 0 {
		lower.Curves = append(lower.Curves, Curve{"sum of the moves", hz, curveOf(func(f float64) float64 { return 0.6 * truth(f) }), Style{Blue, DashDot, Medium, true}, true})
	}
	f.Panels = append(f.Panels, lower)
	return f
}

// leaveOut hatches a span of both panels and removes it from the lower curves.
func leaveOut(f *Figure, fromHz, toHz float64, why string) {
	for i := range f.Panels {
		p := &f.Panels[i]
		p.LeftOut = append(p.LeftOut, Span{fromHz, toHz, why})
		if i == 0 {
			continue
		}
		for k := range p.Curves {
			if p.Curves[k].Style.Weight != Thin && p.Curves[k].Name != "sum of the moves" {
				p.Curves[k].DB = gapBetween(p.Curves[k].DB, fromHz, toHz)
			}
		}
		for k := range p.Intervals {
			p.Intervals[k].LowDB = gapBetween(p.Intervals[k].LowDB, fromHz, toHz)
		}
	}
}

type testFigure struct {
	name string
	fig  Figure
}

// uglyFigures are difficult cases for a layout.
func uglyFigures() []testFigure {
	var out []testFigure
	add := func(name string, f Figure) { out = append(out, testFigure{name, f}) }

	add("main", mainFigure(testMoves()))

	none := mainFigure(nil)
	none.Title = "No moves: the mix is as near to “Night Ferry” as the measurement can tell"
	none.Table.Instead = "No move is worth making: the difference of 0.4 dB lies inside what the measurement can tell apart."
	add("no-moves", none)

	eight := append(testMoves(), testMoves()...)
	for i := range eight {
		eight[i].row = append([]string(nil), eight[i].row...)
		eight[i].row[0] = string(rune('1' + i))
		eight[i].hz *= 1 + 0.3*float64(i/4)
		eight[i].db = hill(float64(2-i%3*2)+0.5, eight[i].hz, 0.8)
	}
	add("eight-moves", mainFigure(eight))

	long := mainFigure(eight)
	for i := range long.Table.Rows {
		long.Table.Rows[i][6] = "low mids 2.8 dB over the reference, ±0.6, most of it between 300 and 450 Hz where the vibraphone and the clarinet sit on top of one another"
	}
	leaveOut(&long, 16000, 30000, "above the low-pass of the MP3")
	add("eight-moves-two-line-reasons", long)

	close5 := testMoves()[:1]
	for i := range 5 {
		m := move{400 + 25*float64(i), hill(1.5-float64(i)*0.8, 400+25*float64(i), 0.5), append([]string(nil), testMoves()[1].row...)}
		m.row[0] = string(rune('2' + i))
		close5 = append(close5, m)
	}
	add("five-close", mainFigure(close5))

	names := mainFigure(testMoves())
	names.Title = "Vers le son de « Été à la Réunion – Ærøskøbing (prise 3, très fort) » — 夜のフェリー 🎹🚢 — Ночной паром, Νυχτερινό πλοίο, final FINAL master v12 (bounced again) .wav"
	names.Lines = []string{
		"mix: " + strings.Repeat("Rough_mix_without_any_blank_", 12) + "prise-é.wav, 3:35, −15.2 LUFS",
		"reference: 夜のフェリー 👩‍🎤 (cafe\u0301 re\u0301sume\u0301) Łódź Đorđe Ñandú ŷ ǆ ﬁ\tTab\nnewline\x01 control.flac, 4:02",
		"reference: Ночной паром.mp3, 4:02, −12.9 LUFS",
	}
	names.Panels[0].Curves[0].Name = "reference: 夜のフェリー – " + strings.Repeat("very long name ", 9) + "Ærøskøbing.flac"
	names.Panels[0].Curves[1].Name = "mix: " + strings.Repeat("Rough_mix_without_any_blank_", 5) + "prise-é.wav"
	names.Table.Rows[1][6] = "夜のフェリー has ünïts " + strings.Repeat("andonewordthatneverends", 12)
	names.Table.Rows[2][1] = "bell with an absurdly long name of its shape"
	add("long-names", names)

	top := mainFigure(testMoves())
	leaveOut(&top, 8000, math.Inf(1), "left out: above the low-pass of the reference, a lossy recording")
	add("out-above-8k", top)

	bottom := mainFigure(testMoves())
	leaveOut(&bottom, 0, 100, "mix has no lows to bring back")
	leaveOut(&bottom, 900, 1000, "hum of the mains, taken out on purpose for this picture")
	leaveOut(&bottom, 5000, 5150, "one band")
	leaveOut(&bottom, 16000, 20500, "low-pass of the MP3 at 16 kHz")
	add("out-below-100", bottom)

	steep := mainFigure(testMoves())
	for i := range steep.Panels[1].Curves {
		for k := range steep.Panels[1].Curves[i].DB {
			steep.Panels[1].Curves[i].DB[k] *= 7
		}
	}
	steep.Panels[1].Intervals = nil
	add("twenty-db", steep)

	flat := mainFigure(nil)
	for i := range flat.Panels {
		for k := range flat.Panels[i].Curves {
			flat.Panels[i].Curves[k].DB = make([]float64, 240)
		}
		flat.Panels[i].Intervals = nil
	}
	flat.Table.Instead = "The two recordings are the same."
	add("flat", flat)

	small := mainFigure(eight)
	leaveOut(&small, 16000, 20500, "above the low-pass of the MP3")
	small.WidthPx, small.HeightPx = 900, 660
	add("small", small)

	large := mainFigure(testMoves())
	leaveOut(&large, 0, 40, "outside the range asked for")
	leaveOut(&large, 16000, 20500, "above the low-pass of the MP3")
	large.WidthPx, large.HeightPx, large.DPI = 2700, 1980, 300
	add("large", large)

	edge := mainFigure(testMoves())
	low := curveOf(sum(ripple(1.2, 2), hill(-3, 200, 3)))
	high := curveOf(sum(ripple(1.2, 2), hill(3, 2000, 4), func(float64) float64 { return 2.5 }))
	edge.Panels[1].Intervals = []Interval{{Name: "nine references", FreqHz: centres(), LowDB: low, HighDB: high, Kind: HatchedEdge, Colour: ReddishPurple}}
	edge.WidthPx, edge.HeightPx = 1800, 900
	add("wide-hatched-edge", edge)

	gaps := mainFigure(testMoves())
	for i := range gaps.Panels[1].Curves {
		db := gaps.Panels[1].Curves[i].DB
		for k := range db {
			if k%40 < 12 && k%40 != 6 {
				db[k] = math.NaN()
			}
		}
	}
	gaps.Panels[0].YMinDB, gaps.Panels[0].YMaxDB = -40, -20
	add("gaps-and-fixed-range", gaps)

	nothing := Figure{Panels: []Panel{{YLabel: "dB"}, {Title: "only NaN", Curves: []Curve{{"mix", centres(), curveOf(func(float64) float64 { return math.NaN() }), Style{}, false}}}}}
	add("nothing", nothing)

	tall := mainFigure(eight)
	tall.WidthPx, tall.HeightPx = 800, 1200
	add("tall", tall)

	many := mainFigure(eight)
	for range 4 {
		many.Table.Rows = append(many.Table.Rows, many.Table.Rows[:8]...)
	}
	add("forty-rows", many)
	return append(append(out, uglierFigures()...), pageFigures()...)
}
