package report

import (
	"fmt"
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

// CheckReading returns what the chart of a check says at each band.
func CheckReading(k *match.Check, look ChartOptions) (*Reading, error) {
	r := &Reading{LowHz: plots.MinHz, HighHz: plots.MaxHz}
	var err error
	if r.LeftPx, r.RightPx, err = CheckChart(k, look).AxisPx(); err != nil {
		return nil, err
	}
	drawnDB := drawnDifference(&match.Result{Comparison: k.Comparison})
	for b, hz := range spectrum.Centres() {
		r.FreqHz = append(r.FreqHz, Number(hz))
		r.Words = append(r.Words, words.FormatHz(hz)+" · "+strings.Join(checkAt(k, drawnDB, b), " · "))
	}
	return r, nil
}

// checkAt says where the mix is at a band, and in the band's zone.
func checkAt(k *match.Check, drawnDB []float64, b int) []string {
	hz, judged := spectrum.CentreHz(b), k.Judged()
	if !judged[b] {
		for _, s := range k.LeftOutSpans() {
			if hz >= s.LowHz && hz < s.HighHz {
				return []string{"left out: " + words.Exclusion(s.Why)}
			}
		}
		return []string{"left out"}
	}
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
