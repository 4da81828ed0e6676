package forms

import (
	"bytes"
	"fmt"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/match/tracks"
	"toneplumb/match/words"
	"toneplumb/plots"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/multitrack"
	"toneplumb/spectrum/testkit"
)

// uglyAdvice has so many tracks and moves, with names as sessions have them.
func uglyAdvice(trackCount, moveCount int) *tracks.Advice {
	level := make([]float64, spectrum.BandCount)
	for b := range level {
		level[b] = 3 * math.Sin(float64(b)/20)
	}
	r := &match.Result{Comparison: &match.Comparison{DifferenceDB: level,
		Mix:        &measure.Recording{Name: strings.Repeat("überlanger Name des rohen Mixes ", 6) + "final FINAL 2.wav"},
		References: []*measure.Recording{{Name: "référence.flac"}}}}
	a := &tracks.Advice{Result: r, Together: &multitrack.Table{RateHz: 44100}}
	for _, z := range match.Zones() {
		a.Zones = append(a.Zones, tracks.Zone{Zone: z, RestShare: -1.23})
	}
	names := []string{"Kick", "07_Électrique gauche (doublée) – comped & tuned & printed & consolidated_03-02", "ベース", "a\u202eb\nc", "", "W"}
	for i := range trackCount {
		t := tracks.Track{Name: names[i%len(names)], State: tracks.State(i % 4)}
		if i < 4 {
			t.State = tracks.Heard
		}
		for z := range a.Zones {
			t.ShareOfZones = append(t.ShareOfZones, float64((i*7+z*3)%11)/7-0.3)
		}
		t.MoveLU = make([]float64, moveCount)
		a.Tracks = append(a.Tracks, t)
	}
	for i := range moveCount {
		f := biquad.Filter{Shape: biquad.Bell, FreqHz: 40 * math.Pow(2, float64(i)), GainDB: -6 + 2*float64(i%7), Q: 1.3}
		m := tracks.Move{Filter: f, Shares: make([]float64, trackCount), MasterDB: level, ShownDB: level, Track: i % trackCount, Where: tracks.Where(i % 3),
			Why: tracks.Why{SameMoments: i%2 == 0, TrackDB: make([]float64, trackCount)}}
		if i%4 != 3 {
			m.Instead = &tracks.TrackMove{Tracks: []int{m.Track}, Filter: f, EffectDB: level, ShownDB: level, TrimsDB: []float64{1.2}}
		}
		if i%3 == 1 && trackCount > 3 && m.Instead != nil {
			m.With = []int{(m.Track + 1) % trackCount, (m.Track + 2) % trackCount, (m.Track + 3) % trackCount}
			m.Instead.Tracks, m.Instead.TrimsDB = m.On(), []float64{1, -12.5, 0.3, 2}
		}
		r.Moves = append(r.Moves, match.Move{Filter: f})
		a.Moves = append(a.Moves, m)
	}
	return a
}

// The chart draws whatever tracks are called and however many there are. TONEPLUMB_SHOTS names a
// folder that keeps the pictures, to look at.
func TestUglyTracksChart(t *testing.T) {
	testkit.Skip(t, "draws sixty tracks in every form")
	for _, c := range [][2]int{{1, 0}, {1, 1}, {4, 8}, {40, 8}, {60, 2}} {
		a := uglyAdvice(c[0], c[1])
		f := Chart(a)
		var picture, svg, pdf bytes.Buffer
		if err := f.WritePNG(&picture); err != nil {
			t.Fatalf("%v: %v", c, err)
		}
		if err := f.WriteSVG(&svg); err != nil {
			t.Fatalf("%v: %v", c, err)
		}
		if err := plots.WritePDF(&pdf, f); err != nil {
			t.Fatalf("%v: %v", c, err)
		}
		config, err := png.DecodeConfig(bytes.NewReader(picture.Bytes()))
		if err != nil || config.Height > 6000 || config.Height < plots.DefaultHeightPx {
			t.Errorf("%v: %d px high, %v", c, config.Height, err)
		}
		if n := max(1, c[1]); len(f.Panels) != n {
			t.Errorf("%v: %d panels, want %d", c, len(f.Panels), n)
		}
		if folder := os.Getenv("TONEPLUMB_SHOTS"); folder != "" {
			for end, data := range map[string][]byte{"png": picture.Bytes(), "svg": svg.Bytes(), "pdf": pdf.Bytes()} {
				if err := os.WriteFile(filepath.Join(folder, fmt.Sprintf("tracks-%d-%d.%s", c[0], c[1], end)), data, 0o600); err != nil {
					t.Fatal(err)
				}
			}
		}
		part := Part(a)
		svgs, err := part.Charts(true)
		if err != nil || len(svgs) != (max(1, c[1])+3)/4 {
			t.Errorf("%v: the page's %d charts: %v", c, len(svgs), err)
		}
		for _, svg := range svgs {
			if !strings.Contains(svg, `stroke-width="1.2"`) { // of the frame, as in a chart of full size
				t.Errorf("%v: the letters and lines of the page's chart shrink with its height", c)
			}
		}
		if folder := os.Getenv("TONEPLUMB_SHOTS"); folder != "" {
			svgs, _ := part.Charts(false)
			if err := os.WriteFile(filepath.Join(folder, fmt.Sprintf("page-%d-%d.svg", c[0], c[1])), []byte(svgs[0]), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		for _, m := range a.Moves {
			for _, said := range words.TrackMove(a, m) {
				if strings.ContainsAny(said, "\u202e\n") {
					t.Errorf("%v: a name's control characters in %q", c, said)
				}
			}
		}
	}
}

// Text and chart tell one number of what a move does, whatever a single band does.
func TestTracksTextAndChartAgree(t *testing.T) {
	a := uglyAdvice(4, 1)
	m := &a.Moves[0]
	constant := func(db float64) []float64 { return slices.Repeat([]float64{db}, spectrum.BandCount) }
	m.MasterDB, m.ShownDB = constant(-9), constant(-4.1)
	m.Instead.EffectDB, m.Instead.ShownDB = constant(9), constant(-3.2)
	m.Instead.TrimmedDB, m.Instead.ShownTrimmedDB = constant(8), constant(-2.3)
	b := m.ShownAt()
	text := strings.Join(words.TrackMove(a, *m), "\n")
	for _, c := range Chart(a).Panels[0].Curves {
		if drawn := "by " + words.FormatGain(c.DB[b]) + " dB"; !strings.Contains(text, drawn) {
			t.Errorf("the curve %q stands at %s; the text has it otherwise:\n%s", c.Name, drawn, text)
		}
	}
	if want := "then changes by −2.3 dB"; !strings.Contains(text, want) {
		t.Errorf("%q is not in:\n%s", want, text)
	}
}

// The text to be read aloud has every track in a line of its own, and no columns.
func TestTextAloud(t *testing.T) {
	var got bytes.Buffer
	if err := TextAloud(&got, uglyAdvice(4, 2)); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"mix: überlanger Name", "\nTrack Kick: sub −30, lows 13, ", "\nno track: sub −123, ", "\nMove 2, bell 80 Hz −4.0 dB"} {
		if !strings.Contains(got.String(), want) {
			t.Errorf("no %q in\n%s", want, &got)
		}
	}
	for line := range strings.Lines(got.String()) {
		if strings.Contains(line, "  ") || strings.ContainsAny(line, "\u202e\t\r") {
			t.Errorf("columns or control characters in %q", line)
		}
	}
}

// On paper the picture has a printer's size, unless it is higher; and no cell is so dark that its number
// is hard to read.
func TestPaperAndShades(t *testing.T) {
	want := report.HandoutOptions{}.Paper()
	for tracks, fits := range map[int]bool{4: true, 60: false} {
		f := Paper(uglyAdvice(tracks, 4), false)
		if (f.WidthPx == want.WidthPx && f.HeightPx == want.HeightPx) != fits {
			t.Errorf("%d tracks: %d by %d", tracks, f.WidthPx, f.HeightPx)
		}
	}
	a := uglyAdvice(1, 0)
	for z := range a.Tracks[0].ShareOfZones {
		a.Tracks[0].ShareOfZones[z] = 1
	}
	for _, shade := range Chart(a).Grid.Rows[0].Shade {
		if shade != darkest {
			t.Errorf("a whole zone has a shade of %g, want %g", shade, darkest)
		}
	}
}
