package report

import (
	"fmt"
	"slices"
	"strings"

	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/plots"
	"toneplumb/spectrum"
)

// Reading is what a chart says at each frequency, and where that is in the picture.
type Reading struct {
	LeftPx  float64  `json:"left_px"` // where LowHz is, from the left edge
	RightPx float64  `json:"right_px"`
	LowHz   float64  `json:"low_hz"` // the axis between them is logarithmic
	HighHz  float64  `json:"high_hz"`
	FreqHz  []Number `json:"freq_hz"`
	Words   []string `json:"words"` // one text per frequency
}

// ReadingOf returns the reading of a figure: at each band that c judges what at returns, else why it
// is left out.
func ReadingOf(f *plots.Figure, c *match.Comparison, at func(band int) []string) (*Reading, error) {
	r := &Reading{LowHz: plots.MinHz, HighHz: plots.MaxHz}
	var err error
	if r.LeftPx, r.RightPx, err = f.AxisPx(); err != nil {
		return nil, err
	}
	judged, spans := c.Judged(), c.LeftOutSpans()
	for b, hz := range spectrum.Centres() {
		said := []string{"left out"}
		if judged[b] {
			said = at(b)
		} else if i := slices.IndexFunc(spans, func(s match.LeftOutSpan) bool { return hz >= s.LowHz && hz < s.HighHz }); i >= 0 {
			said[0] += ": " + words.Exclusion(spans[i].Why)
		}
		r.FreqHz = append(r.FreqHz, Number(hz))
		r.Words = append(r.Words, words.FormatHz(hz)+" · "+strings.Join(said, " · "))
	}
	return r, nil
}

// CheckReading returns what the chart of a check says at each band.
func CheckReading(k *match.Check, look ChartOptions) (*Reading, error) {
	drawnDB := drawnDifference(&match.Result{Comparison: k.Comparison})
	return ReadingOf(CheckChart(k, look), k.Comparison, func(b int) []string { return checkAt(k, drawnDB, b) })
}

// checkAt says where the mix is at a band that is judged, and in the band's zone.
func checkAt(k *match.Check, drawnDB []float64, b int) []string {
	hz := spectrum.CentreHz(b)
	said := []string{"mix " + words.FormatDifference(drawnDB[b])}
	if k.LowDB != nil {
		said[0] += ", likely " + words.FormatInterval(k.LowDB[b], k.HighDB[b])
	}
	for _, z := range k.Zones {
		if hz >= z.LowHz && hz < z.HighHz && z.Why != match.LeftOutZone {
			cells := zoneCells(z)
			said = append(said, fmt.Sprintf("%s as a whole: %s, tolerance %s, %s", z.Name, cells[0], cells[2], cells[3]))
		}
	}
	return said
}
